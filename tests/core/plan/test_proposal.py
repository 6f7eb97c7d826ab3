"""A revised plan before it is in force, in counts and words."""

from buildlog.core.plan.plan import compute
from buildlog.core.plan.proposal import Proposal
from buildlog.core.plan.revise import Fate, revise
from tests.core.plan.conftest import ball

BEFORE = compute(ball(outputs=None))


def proposal(counts=None, **changes) -> Proposal:
    counts = counts or {}
    ticked = {code: max(numbers.values()) for code, numbers in counts.items()}
    return Proposal(revise(BEFORE, compute(ball(outputs=None, **changes)), ticked), counts)


def test_the_same_plan_is_nothing_new():
    same = proposal()
    assert same.nothing and same.changing == () and same.open == [] and same.rewired == []
    assert same.summary == [("stay", len(BEFORE.segments)), ("change", 0), ("go", 0), ("are new", 0)]


def test_other_channels_alone_are_something():
    wired = {"R1-1": {"populated": 28, "wired": 28}, "R60-1": {"populated": 4}, "R61-1": {"wired": 60}}
    other = proposal(wired, capacity=400)
    assert other.changing == () and not other.nothing
    assert other.rewired == [code for code in other.revision.rewired if code in ("R1-1", "R61-1")] != []


def test_what_waits_for_the_lead_is_said_in_words():
    counts = {"R30-1": {"populated": 40, "mounted": 12}, "R30-3": {"populated": 5}, "R1-1": {"populated": 3}}
    changed = proposal(counts, max_segment=150)
    assert {change.code: words for change, words in changed.open} == {
        "R30-1": "40 populated, 12 mounted", "R30-3": "5 populated",
    }  # fmt: skip
    assert changed.changing and all(change.fate is not Fate.STAYS for change in changed.changing)
    assert sum(number for _, number in changed.summary) == len(changed.revision.changes)
    assert not changed.nothing
