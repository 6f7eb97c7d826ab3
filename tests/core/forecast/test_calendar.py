"""Segments handed to somebody who is not there for long enough."""

from __future__ import annotations

from dataclasses import replace

from buildlog.core.forecast.calendar import (
    day_of,
    day_text,
    iso,
    known_days,
    last_known,
    local_day,
    overassigned,
    shifts_to_come,
)
from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput, StintInput
from buildlog.core.forecast.result.warnings import warnings_of
from tests.core.forecast.small import words


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


def test_shifts_to_come_are_cut_at_now_and_joined_where_they_overlap():
    una = Helper("Una", shifts=(ShiftInput(20, 25, 2), ShiftInput(1, 4, 1), ShiftInput(3, 6, 1), ShiftInput(6, 8, 1)))
    assert shifts_to_come(una, 2.0) == (ShiftInput(2.0, 6, 1), ShiftInput(6, 8, 1), ShiftInput(20, 25, 2))
    inside = Helper("Ivo", shifts=(ShiftInput(1, 9, 1), ShiftInput(3, 6, 1)))
    assert shifts_to_come(inside, 0.0) == (ShiftInput(1, 9, 1),)
    assert shifts_to_come(una, 25.0) == () and shifts_to_come(una, 24.9) == (ShiftInput(24.9, 25, 2),)
    assert shifts_to_come(Helper("Mae", shifts=(ShiftInput(5, 5, 1),)), 2.0) == ()


def test_the_last_known_moment_and_who_has_been_there_today():
    build = ForecastInput(30.0, (), (Helper("Una", shifts=(ShiftInput(32, 40, 2),)), Helper("Ivo")))
    assert last_known(build) == 40 and last_known(replace(build, helpers=())) is None
    stints = (StintInput("Box", (0,), 25.0, 26.0), StintInput("Box", (1,), 3.0, 4.0))
    today = local_day(30.0, "UTC")
    assert known_days(replace(build, stints=stints)) == {(0, today)}


def test_days_are_local():
    """Japan is 9 hours ahead of UTC."""
    assert local_day(16.0, "Asia/Tokyo") == local_day(16.0, "UTC") + 1
    assert day_of(16.0, "Asia/Tokyo") == "1970-01-02" and day_text(11.0, "UTC") == "Thu 1 January 1970"
    assert iso(10.0 - 1 / 120, "UTC") == "1970-01-01T10:00+00:00"
    assert iso(10.0 - 0.01, "UTC") == "1970-01-01T09:59+00:00"
