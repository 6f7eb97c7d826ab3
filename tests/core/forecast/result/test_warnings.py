"""What stops a build for good as things stand, at its limits; the words are tried in test_forecast.py."""

from dataclasses import replace

import pytest

from buildlog.core.forecast.input import JobInput, ShiftInput
from buildlog.core.forecast.result.warnings import blocks_of, warnings_of
from tests.core.forecast.small import NOW, finished, helper, inputs, segments, stint

P, M = frozenset({"populate"}), frozenset({"mount"})
ALL_BUT_MOUNT = frozenset({"populate", "wire", "test"})


def codes(**also) -> list[str]:
    return [fact.code for fact in blocks_of(inputs(2, **also))]


def there(*spells: tuple[float, float]) -> tuple[ShiftInput, ...]:
    return tuple(ShiftInput(NOW + begin, NOW + end, 1) for begin, end in spells)


def test_a_crew_that_can_has_no_blocks():
    assert codes() == [] and blocks_of(finished(inputs(2, crew=()))) == ()
    assert warnings_of(finished(inputs(2, crew=()))) == ()


def test_nobody_is_there():
    assert codes(crew=()) == ["no_helpers"]
    assert codes(crew=(helper("Una", shifts=there((-8, 0))),)) == ["no_shifts"]
    assert codes(crew=(helper("Una", shifts=there((-8, 0.5))),)) == []


def test_nobody_has_the_skill_for_what_is_left():
    (fact,) = blocks_of(inputs(2, crew=(helper("Una", skills=P),)))
    assert fact.values == {"stages": ["mount", "wire", "test"]}
    mounted = tuple(replace(segment, done=(100, 100, 0, 0)) for segment in segments(2))
    assert codes(segments=mounted, crew=(helper("Una", skills=ALL_BUT_MOUNT),)) == []


def test_nobody_may_populate():
    assert codes(crew=(helper("Una", populate_limit_h=0.0),)) == ["no_populating"]
    assert codes(crew=(helper("Una", populate_limit_h=0.0), helper("Ivo", populate_limit_h=0.1))) == []
    populated = tuple(replace(segment, done=(100, 0, 0, 0)) for segment in segments(2))
    assert codes(segments=populated, crew=(helper("Una", populate_limit_h=0.0),)) == []


def test_room_for_none_or_for_fewer_than_it_takes():
    assert codes(people=(None, 0, None, None)) == ["no_room"]
    two = segments(2, hands=(1, 2, 1, 1))
    assert codes(segments=two, people=(None, 1, None, None)) == ["too_little_room"]
    assert codes(segments=two, people=(None, 2, None, None)) == []


@pytest.mark.parametrize(
    ("first", "second", "code"),
    [
        ((0, 4), (4, 8), "never_at_once"),  # who leaves at a moment is gone before somebody comes
        ((0, 4), (3.9, 8), None),
        ((-4, -1), (-4, -1), "nobody_able_comes"),
        ((0, 4), (-4, -1), "never_at_once"),
    ],
)
def test_two_are_needed_and_the_shifts_say_whether_they_meet(first, second, code):
    crew = (
        helper("Una", shifts=there(first)),
        helper("Ivo", shifts=there(second)),
        helper("Mae", skills=ALL_BUT_MOUNT),
    )
    facts = blocks_of(inputs(segments=segments(2, hands=(1, 2, 1, 1)), crew=crew))
    assert [fact.code for fact in facts] == ([code] if code else [])
    assert not code or facts[0].values["stage"] == "mount" and facts[0].values["job"] is None


def test_too_few_can_do_it():
    crew = (helper("Una"), helper("Mae", skills=ALL_BUT_MOUNT))
    (fact,) = blocks_of(inputs(segments=segments(2, hands=(1, 2, 1, 1)), crew=crew))
    assert fact.values == {"needed": 2, "able": 1, "stage": "mount", "job": None}


def test_a_job_is_everybodys_where_nobody_names_it():
    job = JobInput("Box", 1, 2, 3, hands=2)
    assert codes(jobs=(job,)) == []
    named = (helper("Una", skills=helper("x").skills | {"Box"}), helper("Ivo"))
    (fact,) = blocks_of(inputs(2, crew=named, jobs=(job,)))
    assert fact.code == "too_few_able" and fact.values["job"] == "Box" and fact.values["able"] == 1
    assert codes(crew=named, jobs=(replace(job, done=True),)) == []


def test_jobs_that_wait_for_each_other():
    first, second, third = (
        JobInput("A", 1, 1, 1, after=("B",)),
        JobInput("B", 1, 1, 1, after=("A",)),
        JobInput("C", 1, 1, 1),
    )
    (fact,) = blocks_of(inputs(2, jobs=(first, second, third)))
    assert fact.values == {"jobs": ["A", "B"]}
    assert codes(jobs=(first, replace(second, after=("mount", "C")), third)) == []
    assert codes(jobs=(first, replace(second, done=True), third)) == []


def test_warnings_beside_the_blocks():
    assert [fact.code for fact in warnings_of(inputs(2))] == ["nothing_measured"]
    measured = inputs(2, stints=(stint("populate", "R1-1", 30),))
    assert warnings_of(measured) == ()
    for useless in (stint("populate", "R1-1", 30, 0), replace(stint("populate", "R1-1", 30), confirmed=False)):
        assert [fact.code for fact in warnings_of(inputs(2, stints=(useless,)))] == ["nothing_measured"]
    assert warnings_of(replace(measured, target=NOW)) == ()
    assert [fact.code for fact in warnings_of(replace(measured, target=NOW - 0.1))] == ["target_passed"]


def test_what_is_done_needs_no_hands_any_more():
    done = replace(segments(1, hands=(1, 2, 1, 1))[0], code="R9-1", done=(100,) * 4)
    assert codes(segments=(done, *segments(1)), people=(None, 1, None, None)) == []
    assert codes(segments=(done, *segments(1)), crew=(helper("Una"),)) == []
