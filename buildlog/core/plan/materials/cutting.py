"""The cut list: which pieces to cut from which roll, with as few rolls as can be and a long rest.

First fit by decreasing length gives a start, column generation the answer and a bound no list can beat. Then, with
as many rolls, the last one is used as little as possible. Last, real segments are laid into the patterns in the
order in which the crew will use them, which costs nothing.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.materials.patterns import (
    CuttingProblem,
    Pattern,
    Stock,
    cheapest,
    dive,
    least_whole,
    relax,
    whole,
)
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.plan import BallPlan
from buildlog.core.units import show_length
from buildlog.core.wording import Sentence, _

PATCH = "patch"
Solution = list[tuple[Pattern, int]]


@dataclass(frozen=True, slots=True)
class StrapCut:
    """A piece to cut: a segment's code or "patch", and its holes."""

    code: str
    holes: int


@dataclass(frozen=True, slots=True)
class CutLength:
    """One roll or offcut and its pieces, in the order to cut them."""

    roll: bool  # False = an offcut
    holes: int
    pieces: tuple[StrapCut, ...]
    left_holes: int


@dataclass(frozen=True, slots=True)
class CutList:
    """Every piece once. ``bound`` is the least number of rolls that any list needs; ``first_fit`` the plain way's."""

    lengths: tuple[CutLength, ...]
    pitch_m: float
    kerf_holes: int
    bound: int
    first_fit: int

    @property
    def rolls(self) -> int:
        return sum(length.roll for length in self.lengths)

    @property
    def offcuts(self) -> int:
        return len(self.lengths) - self.rolls

    @property
    def proved(self) -> bool:
        """Whether no list can do with fewer rolls."""
        return self.rolls == self.bound

    @property
    def longest_left_m(self) -> float:
        return max((length.left_holes for length in self.lengths), default=0) * self.pitch_m

    def as_json(self) -> dict[str, object]:
        return {
            "rolls": self.rolls,
            "offcuts": self.offcuts,
            "bound": self.bound,
            "first_fit": self.first_fit,
            "proved": self.proved,
            "kerf_holes": self.kerf_holes,
            "longest_left_m": self.longest_left_m,
            "lengths": [self._length_json(length) for length in self.lengths],
        }

    def _length_json(self, length: CutLength) -> dict[str, object]:
        pieces = [{"piece": piece.code, "pixels": piece.holes} for piece in length.pieces]
        size, left = length.holes * self.pitch_m, length.left_holes * self.pitch_m
        return {"from": "roll" if length.roll else "offcut", "length_m": size, "pieces": pieces, "left_m": left}


def cut_list(plan: BallPlan, seconds: float = 10.0) -> CutList:
    """The cut list of a plan, from the rolls and offcuts of its parameters.

    ``seconds`` limits the search for fewer rolls, a quarter of it that for a longer rest; the best found is kept.

    Raises Refused when no roll length is given or a piece is longer than a roll.
    """
    stock = plan.parameters.stock
    if stock.roll_m is None:
        raise Refused(Problem(_("Give the length of a roll of strap, such as 5m, to get a cut list."), "roll"))
    return _cut_once(tuple(pieces_of(plan)), stock, plan.pitch_m, seconds)


@lru_cache(maxsize=8)  # a search takes seconds, and what is built and in stock is looked at again and again
def _cut_once(pieces: tuple[StrapCut, ...], stock: StockParameters, pitch_m: float, seconds: float) -> CutList:
    return cut(pieces, stock, pitch_m, seconds)


def pieces_of(plan: BallPlan) -> list[StrapCut]:
    """Segments in the order in which data passes them, each followed by its patch."""
    patch = plan.parameters.stock.patch_pixels
    pieces = []
    for code in dict.fromkeys(run.segment for channel in plan.channels for run in channel.runs):
        pieces.append(StrapCut(code, plan.by_code[code].pixels))
        if patch:
            pieces.append(StrapCut(PATCH, patch))
    return pieces


def cut(pieces: Sequence[StrapCut], stock: StockParameters, pitch_m: float, seconds: float = 10.0) -> CutList:
    """The cut list of any pieces; the order of ``pieces`` is the order of use.

    A cut between two pieces costs the kerf; inside, pieces and stock are both longer by it, which comes to the same.
    """
    kerf = stock.kerf_holes
    stocks = _stocks(stock, pitch_m, kerf)
    _refuse_long(pieces, stocks, pitch_m, kerf)
    counts = Counter(piece.holes + kerf for piece in pieces)
    sizes = np.array(sorted(counts), dtype=np.int64)
    task = CuttingProblem(sizes, np.array([counts[size] for size in sizes.tolist()], dtype=np.int64), stocks)
    start = first_fit(task)
    best, bound = fewest(task, start, seconds)
    best = longest_rest(task, best, seconds / 4)
    lengths = _laid_out(task, _exact(task, best), pieces, kerf)
    return CutList(lengths, pitch_m, kerf, bound, _rolls(start))


def _stocks(stock: StockParameters, pitch_m: float, kerf: int) -> tuple[Stock, ...]:
    """Rolls first, in any number; offcuts cost nothing."""
    roll = _holes(stock.roll_m or 0.0, pitch_m)
    offcuts = (Stock(_holes(offcut.length_m, pitch_m) + kerf, offcut.quantity, 0.0) for offcut in stock.offcuts)
    return (Stock(roll + kerf), *offcuts)


def _holes(length_m: float, pitch_m: float) -> int:
    return int(length_m / pitch_m + 1e-6)


def _refuse_long(pieces: Sequence[StrapCut], stocks: Sequence[Stock], pitch_m: float, kerf: int) -> None:
    roll = stocks[0].length - kerf
    longest = max(pieces, key=lambda piece: piece.holes)
    if longest.holes > roll:
        what = Sentence(
            _("{code} has {holes} pixels ({length}), longer than a roll"),
            code=longest.code,
            holes=longest.holes,
            length=show_length(longest.holes * pitch_m),
        )
        raise Refused(
            Problem(
                _("{what} of {roll} holes: allow segments of at most {roll}, or buy longer rolls."),
                "roll",
                what=what,
                roll=roll,
            )
        )


def first_fit(task: CuttingProblem) -> Solution:
    """Longest pieces first, each into the first length of stock with room: offcuts, then rolls."""
    opened: list[tuple[int, list[int]]] = []
    room: list[int] = []
    for number, stock in enumerate(task.stocks[1:], start=1):
        opened += [(number, [0] * len(task.sizes)) for __ in range(stock.quantity or 0)]
        room += [stock.length] * (stock.quantity or 0)
    # Fits sink as the roll fills: where the last piece of a size went is where the next one starts looking.
    for at in range(len(task.sizes) - 1, -1, -1):
        size, first = int(task.sizes[at]), 0
        for __ in range(int(task.demand[at])):
            while first < len(room) and room[first] < size:
                first += 1
            if first == len(room):
                opened.append((0, [0] * len(task.sizes)))
                room.append(task.stocks[0].length)
            opened[first][1][at] += 1
            room[first] -= size
    used = Counter(Pattern(number, tuple(counts)) for number, counts in opened if any(counts))
    return list(used.items())


def fewest(task: CuttingProblem, start: Solution, seconds: float) -> tuple[Solution, int]:
    """The fewest rolls found, and the least number that any list needs."""
    for pattern, __ in start:
        task.add(pattern)
    relaxed = relax(task)
    bound = least_whole(relaxed[0]) if relaxed else 0
    return _improved(task, start, bound, seconds), bound


def _improved(task: CuttingProblem, best: Solution, bound: int, seconds: float) -> Solution:
    """The cheapest list found; searching ends as soon as one costs what the bound says."""
    searches: tuple[Callable[[], Solution | None], ...] = (partial(whole, task, seconds), partial(dive, task))
    for search in searches:
        if _cost(best, task) <= bound:
            break
        best = cheapest([best, search()], task)
    return best


def longest_rest(task: CuttingProblem, best: Solution, seconds: float) -> Solution:
    """With as many rolls, the list whose last roll is used least."""
    rolls = _rolls(best)
    if not rolls:
        return best
    last = len(task.stocks)
    stocks = (
        Stock(task.stocks[0].length, rolls - 1, 0.0),
        *task.stocks[1:],
        Stock(task.stocks[0].length, 1, 0.0, 1.0),
    )
    inner = CuttingProblem(task.sizes, task.demand, stocks)
    start = _with_last(task, _exact(task, best), last)
    for pattern in (*(pattern for pattern, __ in start), *task.patterns):
        inner.add(pattern)
    relaxed = relax(inner)
    if relaxed is not None:
        start = _improved(inner, start, least_whole(relaxed[0]), seconds)
    return [(replace(pattern, stock=0 if pattern.stock == last else pattern.stock), often) for pattern, often in start]


def _with_last(task: CuttingProblem, solution: Solution, last: int) -> Solution:
    """The same list with its emptiest roll called the last."""
    rolls = [pattern for pattern, _ in solution if pattern.stock == 0]
    emptiest = min(rolls, key=lambda pattern: int(np.dot(task.sizes, pattern.counts)))
    out = [(pattern, often - (pattern is emptiest)) for pattern, often in solution]
    return [(pattern, often) for pattern, often in out if often] + [(replace(emptiest, stock=last), 1)]


def _exact(task: CuttingProblem, solution: Solution) -> Solution:
    """The same rolls without the pieces that are too many."""
    spare = sum(np.array(pattern.counts) * often for pattern, often in solution) - task.demand
    out: list[Pattern] = []
    for pattern in (pattern for pattern, often in solution for __ in range(often)):
        drop = np.minimum(spare, pattern.counts)
        spare = spare - drop
        out.append(Pattern(pattern.stock, tuple((np.array(pattern.counts) - drop).tolist())))
    return list(Counter(pattern for pattern in out if any(pattern.counts)).items())


def _rolls(solution: Solution) -> int:
    return sum(often for pattern, often in solution if pattern.stock == 0)


def _cost(solution: Solution, task: CuttingProblem) -> float:
    return sum(task.cost(pattern) * often for pattern, often in solution)


def _laid_out(task: CuttingProblem, solution: Solution, pieces: Sequence[StrapCut], kerf: int) -> tuple[CutLength, ...]:
    """Real pieces in the patterns: again and again the pattern whose pieces are needed soonest."""
    waiting: dict[int, deque[int]] = defaultdict(deque)
    for at, piece in enumerate(pieces):
        waiting[piece.holes + kerf].append(at)
    left = dict(solution)
    out = []
    while left:
        pattern = min(left, key=lambda pattern: _soonest(pattern, task, waiting, pieces))
        left[pattern] -= 1
        if not left[pattern]:
            del left[pattern]
        taken = [waiting[size].popleft() for size, count in _sized(pattern, task) for __ in range(count)]
        holes = task.stocks[pattern.stock].length - kerf
        used = sum(size * count for size, count in _sized(pattern, task))
        cut_pieces = tuple(pieces[at] for at in sorted(taken))
        out.append(CutLength(pattern.stock == 0, holes, cut_pieces, max(0, holes - used)))
    return tuple(out)


def _sized(pattern: Pattern, task: CuttingProblem) -> list[tuple[int, int]]:
    return [(size, count) for size, count in zip(task.sizes.tolist(), pattern.counts, strict=True) if count]


def _soonest(
    pattern: Pattern, task: CuttingProblem, waiting: dict[int, deque[int]], pieces: Sequence[StrapCut]
) -> tuple[float, tuple[int, ...]]:
    """How late in the order of use the pattern's pieces lie, on average; patches are wanted everywhere."""
    places = [
        waiting[size][number]
        for size, count in _sized(pattern, task)
        for number in range(count)
        if pieces[waiting[size][number]].code != PATCH
    ]
    return (sum(places) / len(places) if places else float(len(pieces))), pattern.counts
