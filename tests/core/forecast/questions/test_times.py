"""When somebody would come, on the build's own clock: Oslo, where clocks change on 29 March 2026."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import hours_of, moment_of
from buildlog.core.forecast.questions.times import HORIZON, Times

OSLO = ZoneInfo("Europe/Oslo")
FRIDAY = date(2026, 3, 27)
NOON = hours_of(datetime(2026, 3, 27, 11, tzinfo=UTC))  # 12:00 there


def spells(times: Times, as_of: float = NOON) -> list[tuple[str, float]]:
    """(local start, hours)."""
    return [
        (f"{moment_of(shift.start).astimezone(OSLO):%a %d %H:%M}", shift.end - shift.start)
        for shift in times.shifts(as_of, OSLO)
    ]


def field_of(**passed) -> str:
    with pytest.raises(Refused) as refused:
        Times(**{"start": time(9), "end": time(17)} | passed)
    return refused.value.problems[0].field


def test_it_needs_a_day_and_a_length():
    assert field_of() == "days"
    assert field_of(day=FRIDAY, end=time(9)) == "until"
    assert field_of(day=date(3026, 3, 27)) == "day" and field_of(weekdays=(0,), last_day=date(926, 3, 27)) == "last_day"


def test_one_day():
    assert spells(Times(time(9), time(17), day=FRIDAY)) == [("Fri 27 09:00", 8)]
    assert spells(Times(time(9), time(12), day=FRIDAY)) == []  # it ends now
    assert spells(Times(time(9), time(12, 1), day=FRIDAY)) != []


def test_every_week_up_to_its_last_day():
    times = Times(time(9), time(17), weekdays=(4, 5), last_day=date(2026, 4, 3))
    assert spells(times) == [("Fri 27 09:00", 8), ("Sat 28 09:00", 8), ("Fri 03 09:00", 8)]
    days = [shift.day for shift in times.shifts(NOON, OSLO)]
    assert days == [FRIDAY.toordinal(), FRIDAY.toordinal() + 1, FRIDAY.toordinal() + 7]


def test_a_night_shift_that_began_yesterday_is_still_on():
    times = Times(time(22), time(13), weekdays=(3,), last_day=FRIDAY)
    assert spells(times) == [("Thu 26 22:00", 15)]


def test_the_hour_that_the_clocks_skip_is_no_shift():
    assert spells(Times(time(2, 10), time(2, 50), day=date(2026, 3, 29))) == []
    assert spells(Times(time(1), time(4), day=date(2026, 3, 29))) == [("Sun 29 01:00", 2)]


def test_without_a_last_day_it_is_believed_for_400_days():
    daily = Times(time(9), time(17), weekdays=tuple(range(7)))
    assert timedelta(days=400) == HORIZON
    assert len(daily.shifts(NOON, OSLO)) == 401
    assert daily.shifts(NOON, OSLO)[-1].day == FRIDAY.toordinal() + 400
    later = Times(time(9), time(17), weekdays=tuple(range(7)), last_day=date(2030, 1, 1))
    assert later.shifts(NOON, OSLO) == daily.shifts(NOON, OSLO)


@pytest.mark.parametrize(
    ("times", "words"),
    [
        (Times(time(9), time(17), day=FRIDAY), "Fri 27 Mar 09:00–17:00"),
        (Times(time(9), time(17), weekdays=(5, 6)), "Sat and Sun 09:00–17:00"),
        (Times(time(9), time(17), weekdays=tuple(range(7))), "every day 09:00–17:00"),
        (Times(time(9), time(17), weekdays=(0,), last_day=FRIDAY), "Mon 09:00–17:00, until Fri 27 Mar"),
    ],
)
def test_it_is_said_and_stored(times, words):
    assert str(times) == words and Times.of_json(times.as_json()) == times
