"""Times read off the wall in Oslo: 02:30 is skipped on 29 March 2026 and comes twice on 25 October."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from buildlog.core.errors import Refused
from buildlog.core.work.localtime import LocalTime

OSLO = ZoneInfo("Europe/Oslo")
DOUBLED = datetime(2026, 10, 25, 2, 30)


def refusal(read, field=""):
    with pytest.raises(Refused) as refused:
        read.instant(OSLO, field)
    (problem,) = refused.value.problems
    return problem


def test_a_time_is_that_of_the_builds_own_clock():
    assert LocalTime(datetime(2026, 5, 2, 9)).instant(OSLO) == datetime(2026, 5, 2, 7, tzinfo=UTC)
    assert LocalTime(datetime(2026, 5, 2, 9), 1).instant(OSLO) == datetime(2026, 5, 2, 7, tzinfo=UTC)


def test_a_reading_with_an_offset_is_an_instant_already():
    read = datetime(2026, 10, 25, 2, 30, tzinfo=timezone(timedelta(hours=5)))
    instant = LocalTime(read).instant(OSLO)
    assert instant == datetime(2026, 10, 24, 21, 30, tzinfo=UTC) and instant.tzinfo is UTC


def test_a_skipped_time_is_refused_beside_its_field():
    problem = refusal(LocalTime(datetime(2026, 3, 29, 2, 30)), "start")
    assert problem.field == "start" and "does not exist" in problem.sentence.template
    assert problem.what.startswith("2026-03-29 02:30 does not exist in Europe/Oslo")


def test_a_doubled_time_is_asked_for_and_then_known():
    assert "comes twice" in refusal(LocalTime(DOUBLED)).sentence.template
    assert LocalTime(DOUBLED, 0).instant(OSLO) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert LocalTime(DOUBLED, 1).instant(OSLO) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
