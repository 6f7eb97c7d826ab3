"""Times written down to the nearest quarter of an hour say as much about rates as those to the second, on the whole."""

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput, StintInput
from buildlog.core.forecast.learn.observations import Promised, clock_step, observations_of
from buildlog.core.forecast.simulate.arrays import Learned
from tests.core.forecast.small import NOW, helper, inputs, shifts, stint

EVENING = 500_000.0
MINUTES = 6.0  # what a segment of 40 pixels takes: 400 pixels an hour


def log_of(spells: int, step_min: float) -> ForecastInput:
    """One helper who populates one segment after the other, in 8-hour days from 9 o'clock, times rounded to a step."""
    rng = np.random.default_rng(5)
    at, stints = EVENING - 24.0 * 40, []
    for number in range(spells):
        end = at + MINUTES / 60 * float(np.exp(rng.normal(-0.02, 0.2)))
        stints.append(StintInput("populate", (0,), at, end, 40, f"S{number}"))
        at = end if (end - EVENING) % 24 < 8 else end - (end - EVENING) % 24 + 24
    rounded = [replace(one, start=_to(one.start, step_min), end=_to(one.end, step_min)) for one in stints]
    segments = [SegmentInput(f"S{number}", 40, (40, 0, 0, 0)) for number in range(spells)]
    return ForecastInput(EVENING, (*segments, SegmentInput("last", 40)), (Helper("Ada"),), tuple(rounded))


def _to(moment: float, step_min: float) -> float:
    return round(moment * 60 / step_min) * step_min / 60


@pytest.mark.parametrize("step_min", [5.0, 10.0, 15.0])
def test_rounded_times_do_not_lean(step_min: float) -> None:
    fine, rough = (Learned(log_of(120, step)) for step in (1 / 60, step_min))
    rate = {
        name: float(np.exp(-one.crew.mean[0, 0] - one.crew.mean[0, 4])) for name, one in (("f", fine), ("r", rough))
    }
    assert rate["r"] == pytest.approx(rate["f"], rel=0.06)


def test_the_step_is_found() -> None:
    assert [clock_step(log_of(60, step).stints) for step in (1 / 60, 1.0, 5.0, 10.0, 15.0)] == [
        0.0, 0.0, 5 / 60, 10 / 60, 15 / 60,
    ]  # fmt: skip
    assert clock_step(log_of(3, 15.0).stints) == 0.0


@pytest.mark.parametrize("step_min", [1 / 60, 5.0, 15.0])
def test_nothing_is_lost_in_blocks(step_min: float) -> None:
    log = log_of(120, step_min)
    spells = observations_of(log).efforts
    assert sum(effort.units for effort in spells) == 120 * 40
    assert sum(effort.hours for effort in spells) == pytest.approx(sum(one.person_hours for one in log.stints))
    assert len(spells) == 120 if step_min < 1 else len(spells) < 60


def efforts(*stints: StintInput, **also):
    return observations_of(inputs(4, stints=stints, **also)).efforts


def test_strap_is_counted_in_pixels_and_wiring_in_runs():
    """R1-1 has 100 pixels on two runs: 50 of them are one run; where the segment is unknown, runs by the pixel."""
    two = (SegmentInput("R1-1", 100, runs=(RunInput(1, 1, 60), RunInput(2, 1, 40))), SegmentInput("R2-1", 300))
    build = {"segments": two}
    for stage, units in (("populate", 50), ("mount", 50), ("wire", 1), ("test", 1)):
        (effort,) = efforts(stint(stage, "R1-1", 30, 50), **build)
        assert (effort.units, effort.hours) == (units, 0.5)
    (elsewhere,) = efforts(stint("wire", "gone", 30, 40), **build)
    assert elsewhere.units == pytest.approx(40 * 3 / 400) and elsewhere.size == 0


def test_rework_jobs_and_doubtful_stints_are_kept_apart():
    log = (
        stint("populate", "R1-1", 30, 0), stint("Scaffold", "", 60, 0),
        replace(stint("mount", "R1-1", 30), confirmed=False),
        stint("wire", "R1-1", 12.1 * 60, ago=40), stint("test", "R1-1", 30, ago=20),
    )  # fmt: skip
    seen = observations_of(inputs(4, stints=log))
    assert seen.rework == (0.5,) and seen.unconfirmed == 2
    assert [effort.stage for effort in seen.efforts] == [3]
    assert seen.hours["jobs"] == 1 and seen.hours["rework"] == 0.5 and seen.hours["test"] == 0.5
    assert seen.practice[0].tolist() == [0, 100, 1, 1] and seen.counted[0].tolist() == [0, 1, 1, 1]


def test_practice_and_hours_of_the_day_are_those_before_it():
    first, second = stint("populate", "R1-1", 60, ago=6), stint("populate", "R2-1", 30, who=(0, 1), ago=4)
    before, after = efforts(first, second)
    assert (before.practice, before.worked) == ((0.0,), 0.0)
    assert (after.practice, after.worked, after.hours) == ((100.0, 0.0), 0.5, 1.0)
    assert observations_of(inputs(4, stints=(first, second))).practice[:, 0].tolist() == [150, 50]
    next_day = efforts(replace(first, start=first.start - 24, end=first.end - 24), second)
    assert next_day[1].worked == 0


def test_a_timer_left_on_counts_up_to_the_end_of_the_shift():
    """The shift ends at 17:00; OVERRUN_H over it is no matter."""
    una = helper("Una", shifts=shifts(1))
    left_on = StintInput("populate", (0,), NOW + 9, NOW + 13, 100, "R1-1")
    (effort,) = efforts(left_on, crew=(una,), as_of=NOW + 40)
    assert (effort.hours, effort.clipped) == (4.0, pytest.approx(1.0))
    (close,) = efforts(replace(left_on, end=NOW + 10.05), crew=(una,), as_of=NOW + 40)
    assert close.clipped is None
    (outside,) = efforts(replace(left_on, start=NOW + 10.5), crew=(una,), as_of=NOW + 40)
    assert outside.clipped is None
    again = replace(left_on, start=NOW + 8, end=NOW + 8.5, pixels=50)
    (both,) = efforts(again, replace(left_on, pixels=50), crew=(una,), as_of=NOW + 40)
    assert (both.units, both.hours, both.clipped) == (100, 4.5, pytest.approx(1.5))


def test_a_segment_that_went_on_at_the_same_hands_is_one_observation():
    halves = (stint("mount", "R1-1", 30, 50, ago=9), stint("mount", "R1-1", 60, 50, ago=7))
    (whole,) = efforts(*halves)
    assert (whole.units, whole.hours) == (100, 1.5)
    assert len(efforts(halves[0], replace(halves[1], helpers=(1,)))) == 2
    assert len(efforts(*(replace(half, segment="") for half in halves))) == 2


def test_the_day_of_a_moment_is_that_of_the_nearest_shift():
    there = Promised(helper(shifts=(ShiftInput(100, 108, 7), ShiftInput(101, 103, 8), ShiftInput(130, 135, 9))))
    assert [there.day_of(at) for at in (99.0, 102.0, 107.0, 118.0, 125.0)] == [7, 7, 7, 7, 9]
    assert there.day_of(95.9) == 7 and there.day_of(87.9) == 719163 + 3 and there.day_of(147.1) == 719163 + 6
    assert (there.end_of(99.95), there.end_of(104.0), there.end_of(108.0), there.end_of(99.0)) == (108, 108, None, None)
    assert Promised(helper(shifts=())).day_of(25.0) == 719164
