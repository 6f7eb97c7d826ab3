"""Segments handed to somebody who is not there for long enough."""

from __future__ import annotations

from buildlog.core.forecast.calendar import overassigned
from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput
from buildlog.core.forecast.result.sentences import words
from buildlog.core.forecast.result.warnings import warnings_of


def inputs(shift_h: float) -> ForecastInput:
    helpers = (
        Helper("Una", shifts=(ShiftInput(0.0, shift_h, 719163),)),
        Helper("Pelle", shifts=(ShiftInput(0.0, 40.0, 719163),)),
    )
    segments = tuple(SegmentInput(f"R{n}-1", 100, runs=(RunInput(1, n, 100),), ring=n, assigned=0) for n in range(1, 6))
    return ForecastInput(0.0, segments, helpers)


def test_work_that_outlasts_somebodys_shifts_is_said_with_hours_and_may_be_taken_by_others():
    """At standard rates a segment of 100 pixels takes 100/400 + 100/350 + 1/6 + 1/15 = 0.769 h."""
    ((work, shifts),) = overassigned(inputs(2.0)).values()
    assert abs(work - 5 * (100 / 400 + 100 / 350 + 1 / 6 + 1 / 15)) < 1e-12 and shifts == 2
    assert any(
        "handed to Una are about 4 h of work, and Una is down for 2 h" in words(warning)
        for warning in warnings_of(inputs(2.0))
    )


def test_work_that_fits_stays_with_whom_it_was_given_to():
    assert overassigned(inputs(8.0)) == {}
    assert not any(warning.code == "assigned_too_much" for warning in warnings_of(inputs(8.0)))
