"""The cutting-stock problem by column generation: which patterns to cut, and how few lengths of stock can do.

A pattern says how many pieces of each size one length of stock gives. The linear programme over all patterns bounds
the number of rolls from below; it is solved by adding only patterns that improve it (P. C. Gilmore and
R. E. Gomory, Operations Research 9, 1961), each found by a knapsack. Whole numbers then come from HiGHS over the
patterns found, and by fixing the whole part and solving what is left again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numba
import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, vstack

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

_ROUNDS = 2_000  # column generation ends long before; a guard against circling
_SLACK = 1e-7


@dataclass(frozen=True, slots=True)
class Stock:
    """Lengths to cut from: how long, how many (None = any number), what one costs, and what each used unit costs."""

    length: int
    quantity: int | None = None
    cost: float = 1.0
    cost_used: float = 0.0


@dataclass(frozen=True, slots=True)
class Pattern:
    """How many pieces of each size one length of ``stock`` gives."""

    stock: int
    counts: tuple[int, ...]


@dataclass(slots=True)
class CuttingProblem:
    """Sizes and demands of pieces, stock to cut from, and the patterns found so far."""

    sizes: Ints
    demand: Ints
    stocks: tuple[Stock, ...]
    patterns: list[Pattern] = field(default_factory=list)

    def add(self, pattern: Pattern) -> None:
        if pattern not in self.patterns:
            self.patterns.append(pattern)

    def cost(self, pattern: Pattern) -> float:
        stock = self.stocks[pattern.stock]
        return stock.cost + stock.cost_used * float(np.dot(self.sizes, pattern.counts))

    def limited(self) -> list[int]:
        return [number for number, stock in enumerate(self.stocks) if stock.quantity is not None]

    def matrices(self) -> tuple[Floats, csr_array, csr_array, Floats]:
        """Costs, pieces by pattern, limited stock by pattern, and how much of that there is."""
        costs = np.array([self.cost(pattern) for pattern in self.patterns])
        pieces = csr_array(np.array([pattern.counts for pattern in self.patterns], dtype=float).T)
        limited = self.limited()
        use = np.array([[float(pattern.stock == stock) for pattern in self.patterns] for stock in limited])
        most = np.array([float(self.stocks[stock].quantity or 0) for stock in limited])
        return costs, pieces, csr_array(use.reshape(len(limited), len(self.patterns))), most


def relax(problem: CuttingProblem) -> tuple[float, Floats] | None:
    """Adds every pattern that the linear programme wants; its optimum and how often it uses each pattern.

    None when the patterns in ``problem`` cannot meet the demand from the stock there is.
    """
    for _ in range(_ROUNDS):
        solved = _linear(problem)
        if solved is None:
            return None
        optimum, use, worth, rent = solved
        better = [
            pattern
            for number, stock in enumerate(problem.stocks)
            if (pattern := _priced(problem, number, stock, worth, rent.get(number, 0.0))) is not None
        ]
        if not better:
            break
        problem.patterns += better
    return optimum, use


def _linear(problem: CuttingProblem) -> tuple[float, Floats, Floats, dict[int, float]] | None:
    """Optimum, uses, what a piece of each size is worth, and the rent of limited stock (0 or below)."""
    costs, pieces, use, most = problem.matrices()
    rows = vstack([-pieces, use]) if most.size else -pieces
    right = np.concatenate([-problem.demand.astype(float), most])
    solution = linprog(costs, A_ub=rows, b_ub=right, method="highs")
    if solution.x is None:
        return None
    marginals = -np.asarray(solution.ineqlin.marginals)
    rent = dict(zip(problem.limited(), (-marginals[len(problem.sizes) :]).tolist(), strict=True))
    return float(solution.fun), np.asarray(solution.x), marginals[: len(problem.sizes)], rent


def _priced(problem: CuttingProblem, number: int, stock: Stock, worth: Floats, rent: float) -> Pattern | None:
    """The pattern on this stock that improves the programme most, if any does."""
    values = worth - stock.cost_used * problem.sizes
    most = np.minimum(problem.demand, stock.length // problem.sizes)
    counts = knapsack(problem.sizes, values, most, stock.length)
    gain = float(np.dot(values, counts)) + rent - stock.cost
    pattern = Pattern(number, tuple(counts.tolist()))
    return pattern if gain > _SLACK and pattern not in problem.patterns else None


@numba.njit(cache=True)
def knapsack(sizes: Ints, values: Floats, most: Ints, length: int) -> Ints:
    """How many pieces of each size to take so that they fit and are worth most; at most ``most`` of each."""
    count = len(sizes)
    best = np.zeros(length + 1)
    taken = np.zeros((count, length + 1), dtype=np.int64)
    for item in range(count):
        if values[item] <= 0 or most[item] <= 0:
            continue
        for room in range(length, sizes[item] - 1, -1):
            top = best[room]
            for copies in range(1, min(most[item], room // sizes[item]) + 1):
                worth = best[room - copies * sizes[item]] + copies * values[item]
                if worth > top + 1e-12:
                    top = worth
                    taken[item, room] = copies
            best[room] = top
    counts = np.zeros(count, dtype=np.int64)
    room = length
    for item in range(count - 1, -1, -1):
        counts[item] = taken[item, room]
        room -= counts[item] * sizes[item]
    return counts


def whole(problem: CuttingProblem, seconds: float) -> list[tuple[Pattern, int]] | None:
    """The cheapest whole numbers of the patterns found that meet the demand; None when time ran out without any."""
    costs, pieces, use, most = problem.matrices()
    limits = [LinearConstraint(pieces, lb=problem.demand)]
    if most.size:
        limits.append(LinearConstraint(use, ub=most))
    solution = milp(
        costs,
        constraints=limits,
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, np.inf),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    if solution.x is None:
        return None
    times = np.round(solution.x).astype(int).tolist()
    return [(pattern, often) for pattern, often in zip(problem.patterns, times, strict=True) if often]


def dive(problem: CuttingProblem, rounds: int = 10_000) -> list[tuple[Pattern, int]] | None:
    """Whole numbers by fixing what the linear programme is sure of, again and again, for stock in any number.

    The whole part of each use is fixed; where nothing is whole, the pattern used most is fixed once.
    """
    left = problem.demand.copy()
    fixed: list[tuple[Pattern, int]] = []
    rest = [stock.quantity for stock in problem.stocks]
    pool = list(problem.patterns)
    for _ in range(rounds):
        if not left.any():
            return fixed
        inner = _left_over(problem, left, rest, pool)
        relaxed = relax(inner)
        if relaxed is None:
            return None
        pool = list(dict.fromkeys(pool + inner.patterns))
        for pattern, often in _sure(inner, relaxed[1]):
            fixed.append((pattern, often))
            left = np.maximum(0, left - often * np.array(pattern.counts))
            quantity = rest[pattern.stock]
            rest[pattern.stock] = None if quantity is None else quantity - often
    return None


def _sure(problem: CuttingProblem, use: Floats) -> list[tuple[Pattern, int]]:
    floors = np.floor(use + 1e-6).astype(int)
    if floors.any():
        return [(problem.patterns[at], int(floors[at])) for at in np.flatnonzero(floors)]
    return [(problem.patterns[int(np.argmax(use))], 1)]


def _left_over(problem: CuttingProblem, left: Ints, rest: list[int | None], pool: list[Pattern]) -> CuttingProblem:
    """The problem of the pieces left, with patterns that give no more than these."""
    stocks = tuple(
        Stock(stock.length, quantity, stock.cost, stock.cost_used)
        for stock, quantity in zip(problem.stocks, rest, strict=True)
    )
    inner = CuttingProblem(problem.sizes, left, stocks)
    for pattern in pool:
        counts = tuple(min(a, b) for a, b in zip(pattern.counts, left.tolist(), strict=True))
        if any(counts):
            inner.add(Pattern(pattern.stock, counts))
    return inner


def cheapest(
    solutions: Sequence[list[tuple[Pattern, int]] | None], problem: CuttingProblem
) -> list[tuple[Pattern, int]]:
    """The cheapest of the solutions that there are."""
    there = [solution for solution in solutions if solution is not None]
    return min(there, key=lambda solution: sum(problem.cost(pattern) * often for pattern, often in solution))


def least_whole(bound: float) -> int:
    """The least whole number of rolls that a linear bound allows."""
    return math.ceil(bound - 1e-6)
