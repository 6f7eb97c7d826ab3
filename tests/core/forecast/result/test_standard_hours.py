"""Work in standard hours, by day, against hand reckoning."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.forecast.input import (
    DaysTicks,
    ForecastInput,
    Helper,
    JobInput,
    RunInput,
    SegmentInput,
    ShiftInput,
    StandardRates,
    StintInput,
    hours_of,
)
from buildlog.core.forecast.learn.observations import observations_of
from buildlog.core.forecast.result.standard_hours import (
    Budget,
    done_by_day,
    earned_of,
    midnights,
    promised,
    schedule_of,
)

MARCH_2 = hours_of(datetime(2026, 3, 2, tzinfo=UTC))
DAY_1 = datetime(2026, 3, 2).toordinal()
RATES = StandardRates(populate=100, mount=50, wire=2, test=4)


def inputs(**what) -> ForecastInput:
    """Two segments of 100 and 50 pixels; a helper who promised 4 h on each of ten days, and worked 3 h on the first."""
    shifts = tuple(ShiftInput(MARCH_2 + 24 * day + 9, MARCH_2 + 24 * day + 13, DAY_1 + day) for day in range(10))
    given = {
        "as_of": MARCH_2 + 24 + 12,
        "segments": (
            SegmentInput("R1-1", 100, (100, 50, 0, 0), runs=(RunInput(1, 1, 60), RunInput(2, 1, 40))),
            SegmentInput("R2-1", 50, (0, 0, 0, 0), runs=(RunInput(1, 2, 50),)),
        ),
        "helpers": (Helper("Marek", shifts=shifts),),
        "stints": (StintInput("populate", (0,), MARCH_2 + 9, MARCH_2 + 12, 100, "R1-1"),),
        "standard": RATES,
        "time_zone": "UTC",
    }
    return ForecastInput(**(given | what))


def test_a_build_is_worth_its_units_at_standard_rates():
    budget = Budget(inputs())
    assert budget.stages.tolist() == [[1.0, 2.0, 1.0, 0.5], [0.5, 1.0, 0.5, 0.25]]
    assert budget.total == pytest.approx(6.75)
    assert budget.done == pytest.approx(1.0 + 1.0)


def test_jobs_count_at_their_mean_and_not_at_all_when_done_outside_the_log():
    jobs = (JobInput("box", 4, 6, 14), JobInput("frame", 10, 20, 30, done=True), JobInput("paint", 1, 1, 1, done=True))
    painted = StintInput("paint", (0,), MARCH_2 + 9, MARCH_2 + 10)
    budget = Budget(inputs(jobs=jobs, stints=(painted,)))
    assert budget.jobs.tolist() == [pytest.approx(7.0), 0.0, 1.0]
    assert budget.jobs_left == pytest.approx(7.0)
    assert budget.done == pytest.approx(2.0 + 1.0)


def tick(pixels: int, *, day: int = 0, segment: str = "R1-1", stage: str = "populate") -> DaysTicks:
    return DaysTicks(segment, stage, DAY_1 + day, pixels, MARCH_2 + 24 * day + 11)


def test_what_was_done_rises_day_by_day_from_nothing():
    points = done_by_day(Budget(inputs()), [tick(100), tick(50, day=1, stage="mount")])
    assert [share * 6.75 for _, share in points] == pytest.approx([0, 1.0, 2.0, 2.0])
    assert [moment - MARCH_2 for moment, _ in points] == pytest.approx([9, 11, 35, 36])


def test_reopened_pixels_make_it_fall_and_too_many_ticks_do_not_make_it_rise():
    points = done_by_day(Budget(inputs()), [tick(170), tick(-100, day=1), tick(40, day=1, segment="gone")])
    assert points[1][1] * 6.75 == pytest.approx(1.0), "170 of 100 pixels are 100"
    assert points[2][1] * 6.75 == pytest.approx(0.7), "70 of them are left"


def test_a_job_counts_on_the_day_it_is_done():
    jobs = (JobInput("paint", 1, 1, 1, done=True),)
    stints = (StintInput("paint", (0,), MARCH_2 + 9, MARCH_2 + 10),)
    budget = Budget(inputs(jobs=jobs, stints=stints))
    points = done_by_day(budget, [], [("paint", MARCH_2 + 15)])
    assert points[1] == (MARCH_2 + 15, pytest.approx(1 / 7.75))


@given(st.lists(st.tuples(st.integers(-120, 120).filter(bool), st.integers(0, 9)), max_size=12))
def test_the_share_stays_between_nothing_and_all(ticks):
    points = done_by_day(Budget(inputs()), [tick(pixels, day=day) for pixels, day in ticks])
    assert all(-1e-9 <= share <= 1 + 1e-9 for _, share in points)


def test_midnights_are_local_and_there_is_one_a_day_when_clocks_change():
    begin = hours_of(datetime(2026, 3, 28, 12, tzinfo=UTC))
    found = midnights(begin, begin + 72, "Europe/Oslo")
    assert np.diff(found).tolist() == [23.0, 24.0], "clocks go forward on 29 March 2026"


def test_promised_hours_are_those_of_shifts_up_to_a_moment():
    found = promised(inputs(), np.array([MARCH_2, MARCH_2 + 11, MARCH_2 + 24, MARCH_2 + 24 * 20]))
    assert found.tolist() == [0.0, 2.0, 4.0, 40.0]
    assert promised(inputs(), np.array([MARCH_2 + 24]), since=MARCH_2 + 12).tolist() == [1.0]


def test_earned_value_is_planned_by_promised_hours():
    seen = inputs()
    said = earned_of(Budget(seen), observations_of(seen))
    assert (said.budget, said.planned, said.earned) == (pytest.approx(6.75), pytest.approx(6.75), pytest.approx(2.0))
    assert said.spent == pytest.approx(3.0), "one stint of three hours"
    first, schedule = schedule_of(Budget(seen))
    assert first == MARCH_2 and schedule.now == pytest.approx(1.5)
    assert schedule.plan == ((0.0, 0.0), (1.0, 4.0), (2.0, pytest.approx(6.75)))
    assert schedule.time_earned == pytest.approx(0.5), "2 of the 4 hours of the first day"


def test_before_the_first_shift_and_with_too_few_shifts_there_is_no_plan_in_time():
    assert schedule_of(Budget(inputs(as_of=MARCH_2 - 100))) is None
    few = Helper("Marek", shifts=(ShiftInput(MARCH_2 + 9, MARCH_2 + 10, DAY_1),))
    assert schedule_of(Budget(inputs(helpers=(few,)))) is None
    assert schedule_of(Budget(inputs(helpers=(Helper("Marek"),)))) is None


def test_a_build_without_segments_has_nothing_to_value():
    empty = inputs(segments=(), stints=())
    assert earned_of(Budget(empty), observations_of(empty)) is None
    assert done_by_day(Budget(empty), []) == ()


def test_pixels_taken_back_before_they_were_ticked_are_none():
    points = done_by_day(Budget(inputs()), [tick(-20), tick(50, day=1)])
    assert [share * 6.75 for _, share in points][1:3] == pytest.approx([0.0, 0.3]), "30 of 100 pixels, at 100 an hour"
