"""The build as a forecast sees it, when people and clocks are not as one expects."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from buildlog.actions import crew, stints
from buildlog.models import Person
from buildlog.queries.forecast_input import crew_of, input_of
from tests.people import MONDAY, give, hours_after, start_stint

pytestmark = pytest.mark.django_db


def test_who_worked_and_only_looks_on_now_is_still_known_by_their_work(shed, helper, other_helper):
    """Work of two is work of two, whatever one of them does today."""
    together = start_stint(helper, other_helper, segment=shed.segments.current().first())
    stints.stop(stint=together, at=hours_after(1))
    other_helper.shifts.create(starts_at=hours_after(24), ends_at=hours_after(25))
    crew.put(build=shed, name="Noor", by=None, now=hours_after(2), role=Person.Role.VIEWER)
    inputs = input_of(shed, hours_after(2))
    (stint,) = inputs.stints
    assert [inputs.helpers[place].name for place in stint.helpers] == ["Marek", "Noor"]
    assert inputs.helpers[1].shifts == (), "a viewer does no work to come"


def test_no_segment_waits_for_somebody_who_only_looks_on_now(shed, helper, other_helper):
    stints.stop(stint=start_stint(other_helper, segment=shed.segments.current().first()), at=hours_after(1))
    give(shed, other_helper, "R1-1", "R2-1")
    crew.put(build=shed, name="Noor", by=None, now=hours_after(2), role=Person.Role.VIEWER)
    assert not shed.segments.filter(assigned_to__isnull=False).exists()
    other_helper.segments.add(shed.segments.get(code="R1-1"))  # as packs of an earlier release have it
    assert not any(segment.assigned is not None for segment in input_of(shed, hours_after(2)).segments)
    assert [one.name for one in crew_of(shed).working] == ["Marek"]


@pytest.mark.parametrize(("start", "end"), [("02:30", "03:15"), ("01:45", "02:15"), ("02:10", "02:50")])
def test_a_weekly_shift_in_the_hour_that_the_clocks_skip_is_as_long_as_there_is_time(shed, helper, start, end):
    """On 29 March 2026 the clocks of Oslo go from 02:00 to 03:00."""
    sunday = date(2026, 3, 29)
    helper.patterns.create(
        weekday=6, from_time=time.fromisoformat(start), until_time=time.fromisoformat(end), first_day=sunday,
        last_day=sunday + timedelta(days=7),
    )  # fmt: skip
    shifts = input_of(shed, MONDAY).helpers[0].shifts
    there = [(shift.day, round((shift.end - shift.start) * 60)) for shift in shifts]
    minutes = {"02:30": 15, "01:45": 15, "02:10": 0}[start]
    next_week = {"02:30": 45, "01:45": 30, "02:10": 40}[start]
    expected = [(sunday.toordinal(), minutes)] * bool(minutes) + [(sunday.toordinal() + 7, next_week)]
    assert there == expected
