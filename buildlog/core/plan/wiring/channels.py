"""Cutting the order in which data passes into channels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.geometry.strap import near_equal
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRun, PlannedSegment
from buildlog.core.wording import Sentence, _


@dataclass(frozen=True, slots=True)
class WholeSegment:
    """A whole segment as data passes it."""

    segment: PlannedSegment
    reversed: bool


def data_order(segments: Sequence[PlannedSegment], parameters: PlanParameters) -> list[WholeSegment]:
    """Segments as data passes: ring after ring from the start, each from its seam, turning or not."""
    rings = [list(pieces) for _, pieces in groupby(segments, key=lambda segment: segment.ring)]
    if parameters.start_from == "bottom":
        rings.reverse()
    out: list[WholeSegment] = []
    for index, pieces in enumerate(rings):
        back = parameters.alternate and index % 2 == 1
        out += [WholeSegment(piece, back) for piece in (reversed(pieces) if back else pieces)]
    return out


def cut_channels(segments: Sequence[PlannedSegment], parameters: PlanParameters) -> tuple[PlannedChannel, ...]:
    """The least number of channels within the capacity, the largest as small as it can be.

    Raises Refused when a piece that may not be cut is longer than the capacity, or outputs are too few.
    """
    order = data_order(segments, parameters)
    loads = channel_loads(order, parameters)
    _refuse_outputs(order, loads, parameters)
    return tuple(PlannedChannel(number, runs) for number, runs in enumerate(_runs(order, loads), start=1))


def channel_loads(order: Sequence[WholeSegment], parameters: PlanParameters) -> list[int]:
    """Pixels of each channel, in data order."""
    if parameters.channel_cut == "anywhere":
        total = sum(link.segment.pixels for link in order)
        return near_equal(total, max(1, -(-total // parameters.capacity)))
    pieces = _whole_pieces(order, parameters)
    _refuse_long(pieces, parameters)
    return partition(pieces, parameters.capacity)


def _whole_pieces(order: Sequence[WholeSegment], parameters: PlanParameters) -> list[int]:
    """Pixels of what a channel may not cut: rings, or segments."""
    if parameters.channel_cut == "rings":
        rings = groupby(order, key=lambda link: link.segment.ring)
        return [sum(link.segment.pixels for link in ring) for _, ring in rings]
    return [link.segment.pixels for link in order]


def partition(loads: Sequence[int], most: int) -> list[int]:
    """Sums of consecutive loads: the fewest sums of at most ``most``, and of those the smallest largest one.

    Exact, by halving the range of possible largest sums. No load may be above ``most``.
    """
    if not loads:
        return []
    ends = np.cumsum(np.asarray(loads, dtype=np.int64))
    parts = len(_cuts(ends, most))
    low, high = max(int(max(loads)), -(-int(ends[-1]) // parts)), most
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if len(_cuts(ends, middle)) <= parts else (middle + 1, high)
    sums = [int(ends[cut - 1]) for cut in _cuts(ends, low)]
    return [after - before for before, after in zip([0, *sums], sums, strict=False)]


def _cuts(ends: npt.NDArray[np.int64], most: int) -> list[int]:
    """After how many loads each part ends when every part takes all it can."""
    cuts, done, at = [], 0, 0
    while at < len(ends):
        at = int(np.searchsorted(ends, done + most, side="right"))
        done = int(ends[at - 1])
        cuts.append(at)
    return cuts


def _runs(order: Sequence[WholeSegment], loads: Sequence[int]) -> Iterator[tuple[PlannedRun, ...]]:
    """The runs of each channel: loads laid along the data order, cutting segments where a load ends in one."""
    at, used = 0, 0
    for load in loads:
        runs = []
        while load:
            link = order[at]
            pixels = link.segment.pixels
            taken = min(load, pixels - used)
            runs.append(_run(link, used, taken))
            load -= taken
            at, used = (at + 1, 0) if used + taken == pixels else (at, used + taken)
        yield tuple(runs)


def _run(link: WholeSegment, used: int, taken: int) -> PlannedRun:
    if link.reversed:
        last = link.segment.pixels - used
        return PlannedRun(link.segment.code, last - taken + 1, last, True)
    return PlannedRun(link.segment.code, used + 1, used + taken, False)


def _refuse_long(pieces: Sequence[int], parameters: PlanParameters) -> None:
    longest = max(pieces, default=0)
    if longest > parameters.capacity:
        piece, other = ("ring", "joints or anywhere") if parameters.channel_cut == "rings" else ("segment", "anywhere")
        what = Sentence(
            _("The longest {piece} has {longest} pixels, a channel drives {capacity} and may not cut it"),
            piece=piece,
            longest=longest,
            capacity=parameters.capacity,
        )
        raise Refused(
            Problem(
                _("{what}: give a capacity of {longest} or more, or cut at {other}."),
                "channel_cut",
                what=what,
                longest=longest,
                other=other,
            )
        )


def _refuse_outputs(order: Sequence[WholeSegment], loads: Sequence[int], parameters: PlanParameters) -> None:
    if parameters.outputs is None or len(loads) <= parameters.outputs:
        return
    what = Sentence(
        _("{loads} channels are needed, more than the {outputs} outputs"), loads=len(loads), outputs=parameters.outputs
    )
    enough = _capacity_for(order, parameters)
    raise Refused(
        Problem(
            _("{what}: give {loads} outputs or more, or a capacity of {enough} or more."),
            "outputs",
            what=what,
            loads=len(loads),
            enough=enough,
        )
    )


def _capacity_for(order: Sequence[WholeSegment], parameters: PlanParameters) -> int:
    """The least capacity with which the outputs are enough."""
    outputs, pieces = parameters.outputs or 1, _whole_pieces(order, parameters)
    if parameters.channel_cut == "anywhere":
        return -(-sum(pieces) // outputs)
    ends = np.cumsum(np.asarray(pieces, dtype=np.int64))
    low, high = max(pieces), int(ends[-1])
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if len(_cuts(ends, middle)) <= outputs else (middle + 1, high)
    return low
