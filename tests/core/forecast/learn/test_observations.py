"""Times written down to the nearest quarter of an hour say as much about rates as those to the second, on the whole."""

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, Helper, SegmentInput, StintInput
from buildlog.core.forecast.learn.observations import clock_step, observations_of
from buildlog.core.forecast.simulate.arrays import Learned

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
    inputs = log_of(120, step_min)
    efforts = observations_of(inputs).efforts
    assert sum(effort.units for effort in efforts) == 120 * 40
    assert sum(effort.hours for effort in efforts) == pytest.approx(sum(one.person_hours for one in inputs.stints))
    assert len(efforts) == 120 if step_min < 1 else len(efforts) < 60
