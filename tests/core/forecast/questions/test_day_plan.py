"""The day plan keeps the rules: one thing at a time, skills, order, room, hands, hand load."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import pytest

from buildlog.core.forecast.input import JobInput
from buildlog.core.forecast.questions.day_plan import DayPlan, day_plan
from tests.core.forecast.small import finished, helper, inputs, segments

FOUR = ("populate", "mount", "wire", "test")


@pytest.fixture(scope="module")
def plan() -> DayPlan:
    crew = (
        helper("Una", populate_limit_h=2.0),
        helper("Ivo", skills=frozenset({"populate", "mount"}), populate_limit_h=2.0),
        helper("Mae", populate_limit_h=2.0),
    )
    ball = (*segments(18, hands=(1, 2, 1, 1)), *segments(20, closing=True)[18:])
    return day_plan(
        inputs(segments=ball, crew=crew, people=(None, None, 1, 2), jobs=(JobInput("Box", 1, 2, 3, hands=2),))
    )


def test_it_ends(plan):
    assert plan.finish is not None and plan.finish == max(turn.end for turn in plan.turns)


def test_nobody_is_in_two_places_at_once(plan):
    for helper_number in range(3):
        own = sorted((turn.start, turn.end) for turn in plan.turns if turn.helper == helper_number)
        assert all(before[1] <= after[0] + 1e-9 for before, after in pairwise(own))


def test_everybody_works_within_their_shifts_and_skills(plan):
    for turn in plan.turns:
        who = plan.inputs.helpers[turn.helper]
        assert any(shift.start <= turn.start and turn.end <= shift.end + 1e-9 for shift in who.shifts)
        assert turn.work == "Box" or turn.work in who.skills


def test_stages_of_a_segment_follow_one_another(plan):
    for segment in plan.inputs.segments:
        ends = {work: max(t.end for t in plan.turns if (t.segment, t.work) == (segment.code, work)) for work in FOUR}
        starts = {
            work: min(t.start for t in plan.turns if (t.segment, t.work) == (segment.code, work)) for work in FOUR
        }
        order = ("populate", "wire", "mount", "test") if segment.closing else FOUR
        assert all(ends[a] <= starts[b] + 1e-9 for a, b in pairwise(order))


def test_tests_wait_for_the_data(plan):
    wired = {turn.segment: turn.end for turn in plan.turns if turn.work == "wire"}
    for turn in plan.turns:
        if turn.work == "test":
            number = int(turn.segment[1:-2])
            assert all(wired[f"R{n}-1"] <= turn.start + 1e-9 for n in range(1, number) if f"R{n}-1" in wired)


def test_closing_segments_are_mounted_last_of_all(plan):
    inside = {segment.code for segment in plan.inputs.segments if not segment.closing}
    ready = max(turn.end for turn in plan.turns if turn.segment in inside)
    closing = [turn for turn in plan.turns if turn.segment and turn.segment not in inside and turn.work == "mount"]
    assert closing and all(turn.start >= ready - 1e-9 for turn in closing)


def test_no_more_people_than_fit(plan):
    moments = [turn.start + 1e-6 for turn in plan.turns if turn.work == "wire"]
    for moment in moments:
        assert sum(turn.work == "wire" and turn.start <= moment < turn.end for turn in plan.turns) <= 1


def test_two_hands_work_at_the_same_time(plan):
    spells = defaultdict(set)
    for turn in plan.turns:
        if turn.work in ("mount", "Box"):
            spells[turn.segment, round(turn.start, 6)].add(turn.helper)
    two = {segment.code for segment in plan.inputs.segments if segment.hands[1] == 2} | {""}
    assert all(len(who) == 2 for (code, _), who in spells.items() if code in two)


def test_nobody_populates_past_the_limit_of_a_day(plan):
    hours = defaultdict(float)
    for day in plan.days:
        for turn in plan.on(day):
            if turn.work == "populate":
                hours[day, turn.helper] += turn.end - turn.start
    assert hours and max(hours.values()) <= 2.0 + 1e-6


def test_every_pixel_passes_every_stage_once(plan):
    for segment in plan.inputs.segments:
        for work in FOUR:
            turns = [turn for turn in plan.turns if (turn.segment, turn.work) == (segment.code, work)]
            assert sum(turn.pixels for turn in turns) == segment.pixels


def test_how_it_ends_is_said_by_what_stands_in_its_way():
    assert day_plan(finished(inputs(2))).outcome.code == "plan_done"
    ready = day_plan(inputs(2))
    assert ready.outcome.code == "plan_ready" and ready.outcome.values["day"].startswith("2026-06-")
    assert [fact.code for fact in day_plan(inputs(2, crew=())).outcome.parts] == ["no_helpers"]
    short = day_plan(inputs(400, crew=(helper("Una", days=2),)))
    assert short.outcome.code == "plan_unfinished" and short.outcome.values == {"known_to": "2026-06-02"}
