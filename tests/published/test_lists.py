"""A free helper takes the first item of work that may begin: the anomalies and bounds known of such lists.

Finishes are in hours; every value was recomputed, and optima proved with a general solver, where not said otherwise.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.published.engine import jobs, only_jobs

GRAHAM = dict(zip((f"T{n}" for n in range(1, 10)), (3, 2, 2, 2, 4, 4, 4, 4, 9), strict=True))
AFTER = {"T9": ["T1"], "T5": ["T4"], "T6": ["T4"], "T7": ["T4"], "T8": ["T4"]}
SHORTER = {name: hours - 1 for name, hours in GRAHAM.items()}
OTHER_LIST = ("T1", "T2", "T4", "T5", "T6", "T3", "T9", "T7", "T8")


def without(*names: str) -> dict[str, list[str]]:
    return {name: before for name, before in AFTER.items() if name not in names}


@pytest.mark.parametrize(
    ("hours", "after", "helpers", "finish"),
    [
        pytest.param(GRAHAM, AFTER, 3, 12, id="as it is, which is the optimum"),
        pytest.param(GRAHAM, AFTER, 4, 15, id="one helper more"),
        pytest.param(SHORTER, AFTER, 3, 13, id="every job an hour shorter"),
        pytest.param(GRAHAM, without("T5", "T6"), 3, 16, id="two jobs wait for nothing"),
        pytest.param(GRAHAM, without("T5", "T6", "T7", "T8"), 3, 16, id="four jobs wait for nothing"),
        pytest.param(GRAHAM, {}, 3, 16, id="no job waits for anything"),
        pytest.param({name: GRAHAM[name] for name in OTHER_LIST}, AFTER, 3, 14, id="another list (list from memory)"),
    ],
)
def test_what_should_help_makes_it_later(hours, after, helpers, finish):
    """R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17(2), 1969, the example; an
    encyclopedia's page on list scheduling."""
    assert only_jobs(jobs(hours, after), helpers).finish == pytest.approx(finish, abs=1e-9)


def test_the_plan_of_the_example_is_that_of_the_paper():
    """As above, by hand: T1, T9 at the first; T2, T4, T5, T7 at the second; T3, T6, T8 at the third."""
    done = only_jobs(jobs(GRAHAM, AFTER), 3)
    spells = {name: done.of(name) for name in GRAHAM}
    assert spells == {
        "T1": (0, 3), "T2": (0, 2), "T3": (0, 2), "T4": (2, 4), "T5": (4, 8), "T6": (4, 8), "T7": (8, 12),
        "T8": (8, 12), "T9": (3, 12),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("hours", "helpers", "finish", "best"),
    [
        pytest.param((1,) * 6 + (3,), 3, 5, 3, id="5/3, the bound itself"),
        pytest.param((3, 3, 2, 2, 2), 2, 7, 6, id="longest first, two helpers"),
        pytest.param((5, 5, 4, 4, 3, 3, 3), 3, 11, 9, id="longest first, 11/9, the bound itself"),
        pytest.param((4, 5, 6, 7, 8), 2, 18, 15, id="shortest first, two helpers"),
        pytest.param((4, 5, 6, 7, 8), 3, 13, 11, id="shortest first, three helpers"),
    ],
)
def test_lists_that_are_not_best(hours, helpers, finish, best):
    """Graham 1966 and 1969 (bounds 2 − 1/m for any list, 4/3 − 1/(3m) for longest first); the last two from an
    encyclopedia's page on list scheduling."""
    found = only_jobs(jobs({f"J{n}": length for n, length in enumerate(hours)}), helpers).finish
    assert found == pytest.approx(finish, abs=1e-9)
    assert found <= (2 - 1 / helpers) * best + 1e-9
    if list(hours) == sorted(hours, reverse=True):
        assert found <= (4 / 3 - 1 / (3 * helpers)) * best + 1e-9


TREE = {6: (0, 1), 7: (2, 3), 8: (4, 5), 9: (6, 7), 10: (8,), 11: (9, 10)}
LEVELS = (4, 4, 4, 4, 4, 4, 3, 3, 3, 2, 2, 1)  # how many jobs from here to the end, itself included


@pytest.mark.parametrize(("helpers", "finish"), [(1, 12), (2, 7), (3, 5), (4, 5), (6, 4)])
def test_farthest_from_the_end_first_is_best_on_a_tree(helpers, finish):
    """T. C. Hu, Parallel sequencing and assembly line problems, Operations Research 9(6), 1961: the bound
    max over levels l of (l − 1) + ⌈jobs at level l or above ÷ helpers⌉ is reached. The tree is our own."""
    after = {f"N{name}": [f"N{leaf}" for leaf in leaves] for name, leaves in TREE.items()}
    order = sorted(range(12), key=lambda name: -LEVELS[name])
    assert only_jobs(jobs({f"N{name}": 1.0 for name in order}, after), helpers).finish == finish
    bound = max(level - 1 + -(-sum(other >= level for other in LEVELS) // helpers) for level in set(LEVELS))
    assert bound == finish


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.integers(1, 4), st.randoms(use_true_random=False))
def test_no_list_is_worse_than_the_bound(hours, helpers, random):
    """Graham 1966: finish ≤ work ÷ m + (1 − 1/m) · longest chain, whatever waits for what."""
    names = [f"J{n}" for n in range(len(hours))]
    after = {name: random.sample(names[:n], min(n, random.randint(0, 2))) for n, name in enumerate(names)}
    done = only_jobs(jobs(dict(zip(names, hours, strict=True)), after), helpers)
    chain: dict[str, int] = {}
    for name, length in zip(names, hours, strict=True):
        chain[name] = length + max((chain[before] for before in after[name]), default=0)
    longest = max(chain.values())
    assert max(longest, sum(hours) / helpers) - 1e-9 <= done.finish
    assert done.finish <= sum(hours) / helpers + (1 - 1 / helpers) * longest + 1e-9
    for name in names:
        assert all(done.of(before)[1] <= done.of(name)[0] + 1e-9 for before in after[name])
    for helper in range(helpers):
        own = sorted((chunk.start, chunk.end) for chunk in done.chunks if chunk.helper == helper)
        assert all(first[1] <= second[0] + 1e-9 for first, second in pairwise(own))
