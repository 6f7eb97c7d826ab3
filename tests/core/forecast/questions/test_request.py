"""What-ifs as people say them: kept and read back the same, made shifts of an input, refused where they are odd."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import JobInput, hours_of, moment_of
from buildlog.core.forecast.questions import typed
from buildlog.core.forecast.questions.request import MoreHands, MoreShifts, WhatIfRequest
from buildlog.core.forecast.questions.scenario import changed
from buildlog.core.forecast.questions.times import HORIZON, Times
from tests.core.forecast.small import NOW, helper, inputs

OSLO = ZoneInfo("Europe/Oslo")
WEEKEND = Times(time(10), time(17), weekdays=(5, 6))

clocks = st.times().map(lambda at: at.replace(second=0, microsecond=0))
times = st.builds(
    lambda start, later, days, last: Times(
        start, (datetime(2026, 1, 1, start.hour, start.minute) + timedelta(minutes=later)).time(), tuple(sorted(days)),
        last_day=last,
    ),
    clocks, st.integers(1, 1439), st.sets(st.integers(0, 6), min_size=1),
    st.none() | st.dates(date(2026, 1, 1), date(2199, 12, 31)),
)  # fmt: skip
wishes = st.builds(
    WhatIfRequest,
    name=st.text(min_size=1, max_size=60).filter(str.strip),
    more=st.lists(st.builds(MoreHands, st.integers(1, 20), times), min_size=1, max_size=3).map(tuple),
    shifts=st.lists(st.builds(MoreShifts, st.sampled_from(["Una", "Ivo"]), times), max_size=2).map(tuple),
    people=st.sampled_from([(), (("wire", 3),), (("wire", None), ("test", 0))]),
    rings=st.lists(st.integers(1, 8), unique=True).map(tuple),
    rework=st.booleans(),
    hand_over=st.booleans(),
    target=st.none() | st.just(datetime(2026, 7, 1, 18, tzinfo=OSLO)),
)


@given(wishes)
def test_what_is_kept_reads_back_the_same(wish):
    again = WhatIfRequest.of_json(json.loads(json.dumps(wish.as_json())))
    assert again.as_json() == wish.as_json() and again.parts == wish.parts


def test_weekend_shifts_keep_their_clock_over_a_clock_change():
    """Oslo goes back to winter time on Sunday 25 October 2026."""
    friday = hours_of(datetime(2026, 10, 23, 12, tzinfo=UTC))
    first, second, third, *_ = WEEKEND.shifts(friday, OSLO)
    local = [moment_of(shift.start).astimezone(OSLO) for shift in (first, second, third)]
    assert [f"{one:%a %H:%M}" for one in local] == ["Sat 10:00", "Sun 10:00", "Sat 10:00"]
    assert second.start - first.start == 25 and first.end - first.start == 7


def test_a_shift_over_midnight_that_began_yesterday_still_counts():
    night = Times(time(22), time(2), weekdays=(4,))
    saturday = hours_of(datetime(2026, 6, 6, 0, 30, tzinfo=OSLO))
    assert night.shifts(saturday, OSLO)[0].start < saturday


def test_one_day_is_one_shift_and_none_once_it_is_over():
    once = Times(time(10), time(17), day=date(2026, 6, 6))
    assert len(once.shifts(NOW, OSLO)) == 1
    assert once.shifts(NOW + 24 * 30, OSLO) == ()


def test_weekly_times_end_on_their_last_day_or_where_nobody_looks_any_more():
    until = Times(time(10), time(17), weekdays=(5,), last_day=date(2026, 6, 20))
    assert [shift.day for shift in until.shifts(NOW, OSLO)] == [date(2026, 6, n).toordinal() for n in (6, 13, 20)]
    assert len(WEEKEND.shifts(NOW, OSLO)) == pytest.approx(2 * HORIZON.days / 7, abs=2)


def test_it_becomes_helpers_shifts_and_an_order():
    build = inputs(jobs=(JobInput("Box", 1, 2, 3),), crew=(helper("Una"), helper("New 1", skills=frozenset({"Box"}))))
    wish = WhatIfRequest(
        "All", more=(MoreHands(2, WEEKEND, ("wire",)), MoreHands(1, WEEKEND)), without=("Una",),
        shifts=(MoreShifts("New 1", WEEKEND),), people=(("wire", 3),), rings=(7, 8),
    )  # fmt: skip
    other = changed(build, wish.change(build))
    assert [one.name for one in other.helpers] == ["Una", "New 1", "New 2", "New 3", "New 4"]
    assert other.helpers[2].skills == {"wire"} and "Box" in other.helpers[4].skills
    assert other.helpers[0].shifts == () and len(other.helpers[1].shifts) > len(build.helpers[1].shifts)
    assert other.people[2] == 3 and [segment.code for segment in other.segments[:2]] == ["R7-1", "R8-1"]


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ({}, "Nothing is changed"),
        ({"name": " ", "rework": False}, "needs a name"),
        ({"more": (MoreHands(0, WEEKEND),)}, "Found 0 more helpers"),
        ({"without": ("Una",), "shifts": (MoreShifts("Una", WEEKEND),)}, "cannot leave and come more often"),
        ({"people": (("paint", 1),)}, "people at paint"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(what, says):
    with pytest.raises(Refused, match=says):
        WhatIfRequest(**{"name": "odd"} | what)


def test_a_ring_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(Refused, match="rings go from 1 to 8"):
        WhatIfRequest("odd", rings=(99,)).change(inputs())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2 Sat,Sun 10:00-17:00 populate,mount", "2 more helpers (populate and mount), Sat and Sun 10:00–17:00"),
        ("1 2026-06-06 9.30-12:00", "1 more helper, Sat 6 Jun 09:30–12:00"),
        ("3 sat 10:00-17:00 until 2026-06-20", "3 more helpers, Sat 10:00–17:00, until Sat 20 Jun"),
    ],
)
def test_more_hands_are_read_from_one_line(text, says):
    assert str(typed.more_hands(text)) == says


@pytest.mark.parametrize(
    ("read", "text", "says"),
    [
        (typed.more_hands, "Sat 10:00-17:00", "not a number"),
        (typed.more_hands, "2 Sat", "no times"),
        (typed.more_hands, "2 10:00-17:00", "No day"),
        (typed.more_hands, "2 Caturday 10:00-17:00", "not a weekday"),
        (typed.more_hands, "2 Sat 10:00-10:00", "ends when it starts"),
        (typed.more_hands, "2 Sat 10:00-17:00 paint", "not a stage"),
        (typed.more_hands, "2 Sat 10:00-17:00 until 2026-02-30", "no day"),
        (typed.more_shifts, "Ines: Sat 10", "no times"),
        (typed.more_shifts, "Ines Sat", "does not say who"),
        (typed.more_shifts, "Ines: Sat 10:00-17:00 wire", "too much"),
        (typed.people, "wire", "like wire=3"),
        (typed.people, "wire=many", "not a number"),
    ],
)
def test_what_cannot_be_read_is_said(read, text, says):
    with pytest.raises(ValueError, match=says):
        read(text)
