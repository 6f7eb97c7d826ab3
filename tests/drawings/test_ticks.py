"""What stands along an edge of time: enough to read it by, nothing over another, whatever the span."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.drawings.axes import Frame, days, time_axis
from buildlog.drawings.picture import Words
from buildlog.drawings.ticks import ticks

ZONE = ZoneInfo("Europe/Oslo")
MONDAY = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)  # 10:00 there
PLOTS = st.sampled_from([(46, 328), (46, 508), (46, 808), (6, 334), (92, 328), (6, 814)])  # left and right edges in use
BEGINS = st.floats(0, 400).map(lambda day: MONDAY + timedelta(days=day))


def named(begin: datetime, end: datetime, left: float = 46, right: float = 328) -> list[Words]:
    frame = Frame(left, 12, right, 300, days(begin), days(end))
    return [shape for shape in time_axis(frame, begin, end, ZONE) if isinstance(shape, Words)]


def texts(begin: datetime, end: datetime, left: float = 46, right: float = 328) -> list[str]:
    return [words.text for words in named(begin, end, left, right)]


def all_of_them(begin: datetime, end: datetime) -> list[str]:
    return [tick.text for tick in ticks(begin, end, ZONE, lambda some: some)]


@given(BEGINS, st.floats(0.5, 5000), PLOTS)
def test_two_moments_are_named_at_least_and_no_name_covers_another_or_leaves_the_sheet(begin, length, plot):
    left, right = plot
    words = named(begin, begin + timedelta(days=length), left, right)
    spans = [one.span for one in words]
    assert len(words) >= 2
    assert spans[0][0] >= 0 and spans[-1][1] <= right + 6
    assert all(one[1] + 8 <= other[0] for one, other in pairwise(spans))


@pytest.mark.parametrize("length", [1, 1.5, 2, 3, 4, 5, 7, 9, 14, 20, 30, 45, 60, 90, 150, 250, 400, 800])
@pytest.mark.parametrize("day", range(7))
def test_a_phone_names_three_moments_nearly_always(length, day):
    begin = MONDAY + timedelta(days=day)
    assert len(texts(begin, begin + timedelta(days=length))) >= (2 if length in (2, 20, 800) else 3)


def test_a_few_days_are_named_each_and_with_their_weekday_where_that_has_room():
    assert texts(MONDAY, MONDAY + timedelta(days=3), 46, 808) == ["Tue 3 Mar", "Wed 4 Mar", "Thu 5 Mar"]
    assert texts(MONDAY, MONDAY + timedelta(days=4)) == ["3 Mar", "4 Mar", "5 Mar", "6 Mar"]


def test_weeks_are_named_by_their_mondays():
    assert texts(MONDAY, MONDAY + timedelta(days=40)) == ["Mon 9 Mar", "Mon 23 Mar", "Mon 6 Apr"]


def test_months_are_named_with_their_year():
    assert texts(MONDAY, MONDAY + timedelta(days=400)) == ["May 2026", "Sep 2026", "Jan 2027"]


def test_a_single_day_is_told_by_its_hours_and_says_which_day_it_is():
    assert texts(MONDAY, MONDAY + timedelta(days=1)) == ["2 Mar 16:00", "3 Mar", "08:00"]


def test_the_first_hour_does_without_its_day_where_that_has_no_room_and_a_midnight_follows():
    begin = MONDAY + timedelta(days=1.75)
    assert texts(begin, begin + timedelta(days=1.875)) == ["12:00", "5 Mar", "12:00"]


def test_an_hour_that_the_clocks_leave_out_is_not_named():
    night = datetime(2026, 3, 29, 0, 0, tzinfo=ZONE)
    assert all_of_them(night, night + timedelta(hours=3)) == ["29 Mar", "01:00", "03:00"]
