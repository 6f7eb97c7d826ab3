"""Earned value where there is nothing to divide by, and what is refused; the formulas are held against the guides in
tests/published."""

import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.result.earned_value import Earned, EarnedSchedule

PLAN = ((0.0, 0.0), (2.0, 40.0), (4.0, 40.0), (6.0, 100.0))


def fields(make) -> list[str]:
    with pytest.raises(Refused) as refused:
        make()
    return [problem.field for problem in refused.value.problems]


def test_the_usual_figures():
    """GAO-20-195G: CPI = EV/AC, SPI = EV/PV, EAC = BAC/CPI, TCPI = (BAC − EV)/(BAC − AC); recomputed."""
    earned = Earned(budget=100, planned=50, earned=40, spent=80)
    assert (earned.left, earned.cost_index, earned.schedule_index, earned.percent_done) == (60, 0.5, 0.8, 40)
    assert (earned.at_completion, earned.at_completion_as_planned, earned.at_completion_both) == (200, 140, 230)
    assert (earned.variance_at_completion, earned.to_complete) == (-100, 3)


def test_at_the_start_there_is_nothing_to_divide_by():
    start = Earned(budget=100, planned=0, earned=0, spent=0)
    assert start.cost_index is start.schedule_index is start.at_completion is start.at_completion_both is None
    assert start.variance_at_completion is None and start.to_complete == 1.0
    waste = Earned(budget=100, planned=10, earned=0, spent=10)
    assert waste.cost_index == 0 and waste.at_completion is None and waste.at_completion_both is None
    early = Earned(budget=100, planned=0, earned=10, spent=5)
    assert early.schedule_index is None and early.at_completion_both is None and early.at_completion == 50


def test_a_budget_that_is_spent_leaves_no_index_to_reach():
    assert Earned(budget=100, planned=90, earned=80, spent=100).to_complete is None
    assert Earned(budget=100, planned=100, earned=100, spent=80).to_complete == 0


@pytest.mark.parametrize("name", ["budget", "planned", "earned", "spent"])
@pytest.mark.parametrize("amount", [-1.0, float("nan"), float("inf")])
def test_amounts_are_numbers_from_0(name, amount):
    amounts = {"budget": 100.0, "planned": 50.0, "earned": 40.0, "spent": 30.0} | {name: amount}
    assert name in fields(lambda: Earned(**amounts))


def test_no_more_is_planned_or_earned_than_the_budget():
    assert fields(lambda: Earned(100, 101, 102, 900)) == ["planned", "earned"]
    assert Earned(100, 100, 100, 900).left == 0
    assert fields(lambda: Earned(0, 0, 0, 0)) == ["budget"]


@pytest.mark.parametrize(
    ("earned", "time"), [(0, 0), (10, 0.5), (40, 4), (70, 5), (100, 6)]
)  # nothing is planned between 2 and 4: what is earned by then was due at the later one
def test_when_what_is_earned_should_have_been(earned, time):
    assert EarnedSchedule(PLAN, earned, 3).time_earned == time


def test_lateness_in_time():
    """W. Lipke, Schedule is different, 2003: SPI(t) = ES/AT, IEAC(t) = PD/SPI(t); recomputed."""
    late = EarnedSchedule(PLAN, 10, 2)
    assert (late.duration, late.time_index, late.duration_at_completion) == (6, 0.25, 24)
    assert EarnedSchedule(PLAN, 10, 0).time_index is None
    assert EarnedSchedule(PLAN, 0, 2).duration_at_completion is None


@pytest.mark.parametrize(
    ("plan", "earned", "now", "wrong"),
    [
        (PLAN[:1], 0, 0, ["plan"]),
        (((1.0, 0.0), (2.0, 5.0)), 0, 0, ["plan"]),
        (((0.0, 1.0), (2.0, 5.0)), 0, 0, ["plan"]),
        (((0.0, 0.0), (2.0, 5.0), (2.0, 6.0)), 0, 0, ["plan"]),
        (((0.0, 0.0), (2.0, 5.0), (3.0, 4.0)), 0, 0, ["plan"]),
        (PLAN, 101, 0, ["earned"]),
        (PLAN, -1, -1, ["earned", "now"]),
        (PLAN, 1, float("inf"), ["now"]),
    ],
)
def test_schedules_that_are_none(plan, earned, now, wrong):
    assert fields(lambda: EarnedSchedule(plan, earned, now)) == wrong
