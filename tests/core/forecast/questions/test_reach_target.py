"""What it takes, on a grid of targets and chances: never fewer hours for less time, never more for less certainty."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from buildlog.core.forecast.input import ForecastInput, JobInput, ShiftInput
from buildlog.core.forecast.questions.reach_target import LADDER, MOST_EXTRA, STEP, TargetReached, what_it_takes
from buildlog.core.forecast.result.forecast import forecast
from tests.core.forecast.small import NOW, helper, inputs, segments, shifts, stint, words

TRIALS = 100
CHANCES = (0.05, 0.5, 0.8, 0.9, 0.97)
DAYS = (1, 2, 3, 5, 8)


def shed() -> ForecastInput:
    """Begun segments wait for whoever began them, as this crew's log shows."""
    worked = tuple(stint("populate", f"R{n}-1", 14 + n, ago=60 - n, who=(n % 2,)) for n in range(1, 9))
    return inputs(
        number=48, crew=(helper("Una"), helper("Ivo", skills=frozenset({"populate", "mount"}))), stints=worked
    )


def narrow() -> ForecastInput:
    """One at a time fits inside, and wiring is what takes longest."""
    return inputs(number=40, people=(None, None, 1, 1))


def pairs() -> ForecastInput:
    return inputs(segments=segments(30, hands=(1, 2, 1, 1)), crew=(helper("Una"), helper("Ivo"), helper("Mae", days=4)))


def asked(of: ForecastInput, days: float, chance: float) -> TargetReached:
    return what_it_takes(replace(of, target=NOW + 24 * days + 10), chance=chance, trials=TRIALS, seed=1)


def hours(takes: TargetReached) -> float:
    return takes.hours if takes.enough else float("inf")


@pytest.mark.parametrize("of", [shed(), narrow(), pairs()], ids=["shed", "narrow", "pairs"])
def test_an_earlier_target_never_needs_fewer_hours_and_a_lower_chance_never_more(of):
    table = [[hours(asked(of, days, chance)) for chance in CHANCES] for days in DAYS]
    for sooner, later in pairwise(table):
        assert all(more >= less for more, less in zip(sooner, later, strict=True)), table
    for by_chance in table:
        assert by_chance == sorted(by_chance), table
    assert len({value for row in table for value in row}) > 4, "the grid is no plateau"


@pytest.mark.parametrize("days", [1, 2, 4])
def test_it_is_enough_and_half_an_hour_less_of_each_is_not(days):
    takes = asked(shed(), days, 0.8)
    assert takes.enough and takes.helpers and takes.probability >= 0.8
    crew = takes.seen.inputs.helpers
    less = tuple(replace(one, shifts=_shorter(one.shifts)) for one in crew if one.added)
    of = replace(takes.seen.inputs, helpers=(*crew[: takes.seen.inputs.known], *less))
    assert forecast(of, trials=TRIALS, seed=1).chance_by(of.target) < 0.8


def _shorter(own):
    *before, last = own
    return (*before, replace(last, end=last.end - STEP)) if last.end - last.start > STEP else before


def test_extra_hands_come_in_half_hours_when_the_crew_does_and_all_before_the_target():
    takes = asked(shed(), 2, 0.9)
    for own in takes.shifts:
        assert sum(shift.end - shift.start for shift in own) / STEP == pytest.approx(takes.hours / takes.helpers / STEP)
        assert all(9 <= (shift.start - NOW + 7) % 24 < shift.end - shift.start + (shift.start - NOW + 7) % 24 <= 17
                   for shift in own)  # fmt: skip
    assert (takes.hours / takes.helpers / STEP).is_integer()


def test_where_room_holds_it_up_it_says_so_and_how_many_fit():
    takes = asked(inputs(number=90, people=(None, None, 1, 1)), 0, 0.8)
    assert not takes.enough and takes.helpers == 0
    assert words(takes.outcome).endswith(
        "it stays at 0 %. Wiring holds it up: only 1 fit at once. Let more in if that is safe, or add days, or move "
        "the target."
    )


def test_on_a_plateau_the_answer_does_not_hang_on_the_luck_of_the_trials():
    """Each more of them helps less: which is the last that is worth asking for differs by one at most."""
    flat = replace(inputs(number=36, people=(None, None, 1, 1)), target=NOW + 10)
    found = [what_it_takes(flat, chance=0.9, trials=300, seed=seed) for seed in range(4)]
    helpers = [takes.helpers for takes in found]
    assert not any(takes.enough for takes in found) and max(helpers) - min(helpers) <= 1, helpers
    assert all("hardly help" in words(takes.outcome) for takes in found if takes.helpers < MOST_EXTRA)


def test_what_stops_a_build_whoever_comes_is_said_instead_of_hours():
    takes = asked(inputs(people=(None, None, 0, 2)), 3, 0.8)
    assert words(takes.outcome) == (
        "No number of extra hands helps as things stand. Nobody may wire: the limit of people at that stage is 0. "
        "Set it to 1 or more."
    )
    apart = asked(inputs(people=(None, 2, 2, 2), segments=segments(4, hands=(1, 3, 1, 1))), 3, 0.8)
    assert "A segment needs 3 helpers to mount, but only 2 fit: change one of the two." in words(apart.outcome)


def test_helpers_with_a_skill_that_nobody_has_are_asked_for_by_it():
    takes = asked(inputs(crew=(helper("Una", skills=frozenset({"populate", "mount", "test"})),)), 5, 0.8)
    assert takes.enough and "who can wire" in words(takes.outcome)


def test_a_job_that_no_crowd_shortens_is_named():
    takes = asked(replace(shed(), jobs=(JobInput("Box", 20, 30, 60),)), 3, 0.99)
    assert not takes.enough and "Jobs hold it up" in words(takes.outcome)


def test_a_crew_that_is_hardly_there_is_said_to_be():
    takes = asked(inputs(number=90, crew=(helper("Una", shifts=shifts(1)),)), 9, 0.8)
    assert not takes.enough and "The crew is there for 8 h on 1 day before it: add days under Crew." in words(
        takes.outcome
    )


def test_the_ladder_rises_by_no_more_than_half():
    """From one step on; two rungs in every doubling, so what is found between two is never far off."""
    assert list(LADDER) == sorted(set(LADDER)) and LADDER[:5] == (1, 2, 4, 6, 8) and LADDER[-1] == 4096
    assert all(more <= 1.5 * less for less, more in pairwise(LADDER[2:]))


def test_shifts_that_touch_are_one_spell_and_those_of_another_day_are_not():
    whole, halves = shifts(2), (*shifts(2, 9, 12), *shifts(2, 12, 17))
    build = inputs(number=60, target=NOW + 24 + 10)
    spells = [
        what_it_takes(replace(build, helpers=(helper("Una", shifts=own),)), chance=0.9, trials=20, seed=1).shifts
        for own in (whole, halves)
    ]
    assert spells[0] and spells[0] == spells[1]
    night = (ShiftInput(NOW + 2, NOW + 17, 1), ShiftInput(NOW + 17, NOW + 20, 2))
    takes = what_it_takes(replace(build, helpers=(helper("Una", shifts=night),)), chance=0.9, trials=20, seed=1)
    assert {shift.day for own in takes.shifts for shift in own} <= {1, 2}
