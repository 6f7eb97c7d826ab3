"""Cutting patterns against all patterns there are: every one is written down, and HiGHS solves over them at once."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from buildlog.core.plan.materials.patterns import (
    CuttingProblem,
    Pattern,
    Stock,
    cheapest,
    dive,
    knapsack,
    least_whole,
    relax,
    whole,
)

ROLLS = Stock(20, None, 1.0, 0.0)


def every_pattern(problem: CuttingProblem) -> list[Pattern]:
    """All that fit on a length and give no more than is wanted, by counting up."""
    wanted = list(zip(problem.sizes.tolist(), problem.demand.tolist(), strict=True))
    return [
        Pattern(number, counts)
        for number, stock in enumerate(problem.stocks)
        for counts in product(*(range(min(stock.length // size, want) + 1) for size, want in wanted))
        if any(counts) and np.dot(problem.sizes, counts) <= stock.length
    ]


def problem_of(sizes: list[int], demand: list[int], *stocks: Stock, begun: bool = True) -> CuttingProblem:
    """With a pattern for each size to begin with, as the cut list gives."""
    problem = CuttingProblem(np.array(sizes), np.array(demand), stocks)
    for place in range(len(sizes)) if begun else ():
        problem.add(Pattern(0, tuple(int(place == other) for other in range(len(sizes)))))
    return problem


sizes = st.lists(st.integers(3, 12), min_size=2, max_size=3, unique=True)


@settings(max_examples=30, deadline=None)
@given(sizes, st.lists(st.integers(1, 9), min_size=3, max_size=3))
def test_the_relaxed_optimum_is_that_over_all_patterns(sizes, demand):
    problem = problem_of(sizes, demand[: len(sizes)], ROLLS)
    patterns = every_pattern(problem)
    outside = linprog(
        np.ones(len(patterns)), A_ub=-np.array([pattern.counts for pattern in patterns]).T, b_ub=-problem.demand
    )
    optimum, use = relax(problem)
    assert optimum == pytest.approx(outside.fun)
    assert np.all(use @ np.array([pattern.counts for pattern in problem.patterns]) >= problem.demand - 1e-9)


def test_a_stock_that_is_cheaper_and_short_in_number_is_used_up_first():
    problem = problem_of([5], [8], ROLLS, Stock(10, 2, 0.1, 0.0))
    optimum, _ = relax(problem)
    assert optimum == pytest.approx(2 * 0.1 + 1.0)  # 4 of 8 from two offcuts, 4 from a roll
    assert problem.limited() == [1]


def test_stock_that_does_not_reach_has_no_answer():
    assert relax(problem_of([5], [8], Stock(10, 2, 1.0, 0.0))) is None
    assert dive(problem_of([5], [8], Stock(10, 2, 1.0, 0.0))) is None


def test_what_a_length_costs_and_what_is_used_of_it():
    problem = problem_of([5, 7], [1, 1], Stock(20, None, 2.0, 0.1))
    assert problem.cost(Pattern(0, (1, 2))) == pytest.approx(2 + 0.1 * 19)
    before = list(problem.patterns)
    problem.add(before[0])
    assert problem.patterns == before


@settings(max_examples=60, deadline=None)
@given(sizes, st.lists(st.floats(-1, 5), min_size=3, max_size=3), st.lists(st.integers(0, 3), min_size=3, max_size=3),
       st.integers(1, 30))  # fmt: skip
def test_the_knapsack_is_the_best_of_all(sizes, values, most, length):
    values, most = np.array(values[: len(sizes)]), np.array(most[: len(sizes)])
    counts = knapsack(np.array(sizes), values, most, length)
    fitting = [
        np.dot(values, each)
        for each in product(*(range(limit + 1) for limit in most.tolist()))
        if np.dot(sizes, each) <= length
    ]
    assert np.all(counts <= most) and np.dot(sizes, counts) <= length
    assert np.dot(values, counts) == pytest.approx(max(fitting))


@settings(max_examples=20, deadline=None)
@given(sizes, st.lists(st.integers(1, 9), min_size=3, max_size=3))
def test_whole_numbers_meet_the_demand_and_are_no_better_than_the_relaxed(sizes, demand):
    problem = problem_of(sizes, demand[: len(sizes)], ROLLS)
    optimum, _ = relax(problem)
    solutions = [whole(problem, 5.0), dive(problem)]
    for solution in solutions:
        cut = sum(np.array(pattern.counts) * often for pattern, often in solution)
        assert np.all(cut >= problem.demand) and all(often > 0 for _, often in solution)
        assert sum(often for _, often in solution) >= least_whole(optimum)
    best = cheapest([None, *solutions], problem)
    assert sum(often for _, often in best) == min(sum(often for _, often in solution) for solution in solutions)


def test_whole_numbers_keep_to_the_stock_there_is():
    problem = problem_of([5], [12], ROLLS, Stock(10, 1, 0.1, 0.0))  # two rolls, two pieces, and two on the offcut
    relax(problem)
    for solution in (whole(problem, 5.0), dive(problem)):
        assert sum(often for pattern, often in solution if pattern.stock == 1) <= 1
    assert sum(problem.cost(pattern) * often for pattern, often in whole(problem, 5.0)) == pytest.approx(3.0)


def test_a_bound_that_is_whole_but_for_rounding_is_whole():
    assert (least_whole(3.0), least_whole(3.0 + 1e-9), least_whole(3.01)) == (3, 3, 4)


def test_time_that_ran_out_is_no_answer():
    problem = problem_of([5, 7], [9, 9], ROLLS)
    assert dive(problem, rounds=0) is None
