"""Earned value and earned schedule against published formulas and worked exercises.

Where only the inputs of an exercise were seen, the answers are recomputed from the formulas and the line says so.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.forecast.result.earned_value import Earned, EarnedSchedule

amounts = st.floats(0.01, 1e6)
CLOSE = 1e-4


@given(amounts, st.floats(0.01, 1), st.floats(0.01, 1), amounts)
def test_the_formulas_are_those_of_the_guides(budget, planned_share, earned_share, spent):
    """GAO-20-195G, earned value chapters; ISO 21508:2018, annexes A to C; formulas seen in secondary sources."""
    pv, ev, ac = planned_share * budget, earned_share * budget, spent
    said = Earned(budget, pv, ev, ac)
    cpi, spi = ev / ac, ev / pv
    assert (said.cost_index, said.schedule_index) == (pytest.approx(cpi), pytest.approx(spi))
    assert said.at_completion == pytest.approx(budget / cpi)
    assert said.at_completion_as_planned == pytest.approx(ac + (budget - ev))
    assert said.at_completion_both == pytest.approx(ac + (budget - ev) / (cpi * spi))
    assert said.variance_at_completion == pytest.approx(budget - budget / cpi)
    if ac < budget:
        assert said.to_complete == pytest.approx((budget - ev) / (budget - ac))


def test_a_six_month_project():
    """K. Schwalbe, Information Technology Project Management, chapter 7 exercise; answers recomputed."""
    said = Earned(budget=200_000, planned=120_000, earned=100_000, spent=90_000)
    assert said.cost_index == pytest.approx(1.1111, abs=CLOSE)
    assert said.schedule_index == pytest.approx(0.8333, abs=CLOSE)
    assert said.at_completion == pytest.approx(180_000)
    assert 6 / said.schedule_index == pytest.approx(7.2, abs=CLOSE)
    assert said.to_complete == pytest.approx(0.9091, abs=CLOSE)


def test_half_of_a_plan_of_one_year():
    """Course slides of the University of Texas at Dallas, after W. Lipke 2014; answers recomputed."""
    said = Earned(budget=100_000, planned=55_000, earned=50_000, spent=45_000)
    assert said.cost_index == pytest.approx(1.1111, abs=CLOSE)
    assert said.schedule_index == pytest.approx(0.9091, abs=CLOSE)
    assert said.at_completion == pytest.approx(90_000)


def test_an_overrun_and_what_the_rest_would_have_to_be():
    """A page of examples for a board's examination; answers recomputed."""
    said = Earned(budget=5e6, planned=5e6, earned=1.5e6, spent=1.8e6)
    assert said.cost_index == pytest.approx(0.8333, abs=CLOSE)
    assert said.at_completion == pytest.approx(6e6)
    assert said.to_complete == pytest.approx(1.09375, abs=CLOSE)


def test_what_is_left_against_the_money_that_is_left():
    """A course page on the to-complete index; answer recomputed."""
    assert Earned(budget=5e6, planned=5e6, earned=2e6, spent=2.5e6).to_complete == pytest.approx(1.2, abs=1e-12)


def test_the_sixth_month():
    """The same course; printed CPI 0.94."""
    said = Earned(budget=1_000_000, planned=500_000, earned=450_000, spent=480_000)
    assert said.cost_index == pytest.approx(0.9375) and round(said.cost_index, 2) == 0.94
    assert said.schedule_index == pytest.approx(0.90)
    assert said.at_completion == pytest.approx(1_066_667, abs=1)


def test_an_overrun_that_happens_once():
    """The same course: the rest goes as planned; answer recomputed."""
    assert Earned(budget=2e6, planned=1e6, earned=1e6, spent=1.1e6).at_completion_as_planned == 2.1e6


@pytest.mark.parametrize(
    ("given", "cpi", "spi", "eac", "done"),
    [((248, 158, 148, 210), 0.70, 0.94, 352, 60), ((118, 85, 85, 63), 1.35, 1.00, 87, 72)],
    ids=["end of period 12", "end of period 7"],
)
def test_two_projects_at_the_end_of_a_period(given, cpi, spi, eac, done):
    """E. Larson and C. Gray, Project Management, chapter 13 exercises, as printed in a course's solutions."""
    said = Earned(*given)
    assert (round(said.cost_index, 2), round(said.schedule_index, 2)) == (cpi, spi)
    assert round(said.at_completion) == eac
    assert round(said.percent_done) == done


def test_variance_at_completion_of_the_first_of_them():
    assert round(Earned(248, 158, 148, 210).variance_at_completion) == -104


def test_ten_packages_rolled_up():
    """An exercise seen in a secondary source; only its stated inputs are used, answers recomputed."""
    shares = (1.0, 1.0, 0.9, 0.8, 0.5, 0, 0, 0, 0, 0)
    said = Earned(
        budget=10 * 100_000,
        planned=5 * 100_000,
        earned=sum(100_000 * share for share in shares),
        spent=1000 * (120 + 110 + 80 + 125 + 75),
    )
    assert said.earned == pytest.approx(420_000)
    assert said.cost_index == pytest.approx(0.8235, abs=CLOSE)
    assert said.schedule_index == pytest.approx(0.84)


# ---- earned schedule ------------------------------------------------------------------------


@given(st.floats(0, 0.999))
def test_time_earned_is_whole_periods_and_a_part_of_the_next(part):
    """W. Lipke, Schedule is different, The Measurable News, March 2003: all of month 5 and part of month 6 at AT 7."""
    plan = ((0, 0), (1, 5), (2, 15), (3, 30), (4, 50), (5, 70), (6, 85), (7, 95), (8, 100))
    earned = 70 + part * (85 - 70)
    said = EarnedSchedule(plan, earned, now=7)
    assert said.time_earned == pytest.approx(5 + (earned - 70) / (85 - 70))


def test_half_of_a_five_month_plan_after_three_months():
    """An examination forum's question with its explanation; the last answer recomputed."""
    said = EarnedSchedule(tuple((month, 20 * month) for month in range(6)), earned=50, now=3)
    assert said.time_earned == 2.5
    assert round(said.time_index, 2) == 0.83
    assert said.duration_at_completion == pytest.approx(6.0)


def test_a_plan_that_begins_and_ends_slowly():
    """Lipke's formula on a plan of our own; recomputed by hand."""
    plan = tuple(enumerate((0, 10, 25, 45, 70, 90, 100)))
    said = EarnedSchedule(plan, earned=35, now=4)
    assert (said.time_earned, said.time_index, said.duration_at_completion) == (2.5, 0.625, 9.6)


def test_at_the_end_of_a_late_project_only_time_still_tells():
    """Lipke 2003: the value-based indices end well whatever happened, the time-based ones do not."""
    end = Earned(budget=100, planned=100, earned=100, spent=130)
    assert end.schedule_index == 1
    late = EarnedSchedule(((0, 0), (5, 60), (10, 100)), earned=100, now=12.5)
    assert late.time_index == 10 / 12.5


# ---- nonsense -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ((0, 0, 0, 0), "no work to value"),
        ((100, -1, 0, 0), "planned: Found -1"),
        ((100, 50, 101, 10), "no more than the budget"),
        ((100, 50, float("nan"), 10), "earned: Found nan"),
        ((float("inf"), 50, 20, 10), "budget: Found inf"),
    ],
)
def test_nonsense_is_refused(given, says):
    with pytest.raises(Refused, match=says):
        Earned(*given)


def test_before_anything_is_done_there_are_no_ratios():
    said = Earned(budget=100, planned=0, earned=0, spent=0)
    assert (said.cost_index, said.schedule_index, said.at_completion, said.at_completion_both) == (None,) * 4
    assert said.variance_at_completion is None
    assert said.at_completion_as_planned == 100
    assert Earned(100, 50, 50, 100).to_complete is None


@pytest.mark.parametrize(
    ("plan", "earned", "now", "says"),
    [
        (((0, 0),), 0, 1, "two points"),
        (((0, 5), (1, 9)), 5, 1, "begins with nothing"),
        (((0, 0), (2, 9), (2, 10)), 5, 1, "times rise"),
        (((0, 0), (1, 9), (2, 8)), 5, 1, "never falls"),
        (((0, 0), (1, 9)), 10, 1, "give 0 to 9"),
        (((0, 0), (1, 9)), 5, -1, "0 or more"),
    ],
)
def test_a_plan_that_is_none_is_refused(plan, earned, now, says):
    with pytest.raises(Refused, match=says):
        EarnedSchedule(plan, earned, now)


def test_where_nothing_is_planned_for_a_while_time_earned_is_the_end_of_the_pause():
    plan = ((0, 0), (1, 10), (3, 10), (4, 20))
    assert EarnedSchedule(plan, 10, 2).time_earned == 3
    assert EarnedSchedule(plan, 9, 2).time_earned == pytest.approx(0.9)
    assert EarnedSchedule(plan, 0, 0).time_index is None
