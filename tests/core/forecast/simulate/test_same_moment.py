"""What happens at one moment has all happened before anybody looks for work."""

from __future__ import annotations

from buildlog.core.forecast.input import JobInput
from buildlog.core.forecast.questions.day_plan import day_plan
from tests.core.forecast.small import helper, inputs, segments


def begun_at(plan, work: str) -> list[tuple[int, float]]:
    return [(turn.helper, turn.start) for turn in plan.turns if turn.work == work]


def test_two_who_come_at_the_same_time_begin_together_what_needs_two():
    to_mount = segments(2, hands=(1, 2, 1, 1), done=(100, 0, 0, 0))
    crew = (helper("Una", skills=frozenset({"populate", "mount"})), helper("Ivo"))
    plan = day_plan(inputs(segments=(*to_mount, *segments(3)[2:]), crew=crew))
    first = min(turn.start for turn in plan.turns)
    assert begun_at(plan, "mount")[:2] == [(0, first), (1, first)], "neither populates while the other arrives"


def test_who_gets_free_with_another_sees_what_the_other_has_finished():
    jobs = (
        JobInput("Box", 1, 1, 1),
        JobInput("Lid", 1, 1, 1),
        JobInput("Feet", 2, 2, 2, after=("Lid",)),
        JobInput("Paint", 1, 1, 1),
    )
    plan = day_plan(inputs(segments=(), jobs=jobs))
    start = min(turn.start for turn in plan.turns)
    assert begun_at(plan, "Feet") == [(0, start + 1)], "Feet stands before Paint, and Lid is done"
