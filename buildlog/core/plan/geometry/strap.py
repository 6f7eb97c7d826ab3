"""Cutting each ring into segments: pieces a person can carry, with joints on ribs where there are ribs."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import accumulate

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedRing, PlannedSegment
from buildlog.core.wording import Sentence, _

_MOST_PIECES = 200_000
_RIBS_TRIED = 3  # ribs tried on each side of an even joint; further away pieces get too unequal


def cut_segments(
    rings: Sequence[PlannedRing], parameters: PlanParameters, pitch_m: float
) -> tuple[PlannedSegment, ...]:
    """All segments, ring by ring, pieces counted from the seam.

    Raises Refused when a ring cannot be cut within the longest and shortest segment.
    """
    _refuse_many(sum(ring.pixels for ring in rings), parameters)
    _refuse_long_bays(rings, parameters, pitch_m)
    by_hand = _by_hand(rings, parameters)
    out: list[PlannedSegment] = []
    for ring in rings:
        pieces = by_hand.get(ring.number) or cut_ring(ring, parameters, pitch_m)
        out += _segments(ring, pieces, pitch_m, parameters)
    return tuple(out)


def near_equal(total: int, parts: int) -> list[int]:
    """``total`` in ``parts`` whole parts that differ by at most one, longer ones first."""
    least, longer = divmod(total, parts)
    return [least + 1] * longer + [least] * (parts - longer)


def cut_ring(ring: PlannedRing, parameters: PlanParameters, pitch_m: float) -> list[int]:
    """Pixels of each piece of the ring: ⌈n / longest⌉ pieces, near equal or with their joints on ribs."""
    parts = -(-ring.pixels // parameters.max_segment)
    if parts > 1 and ring.pixels // parts < parameters.min_segment:
        raise Refused(_no_cut(ring, parameters, parts))
    if parameters.ribs is None or parts == 1:
        return near_equal(ring.pixels, parts)
    joints = joints_on_ribs(ring.pixels, parts, rib_marks(ring, parameters.ribs, pitch_m), parameters)
    ends = [0, *joints, ring.pixels]
    return [after - before for before, after in zip(ends, ends[1:], strict=False)]


def _no_cut(ring: PlannedRing, parameters: PlanParameters, parts: int) -> Problem:
    fewer, half = parts - 1, ring.pixels // parts
    longest = -(-ring.pixels // fewer)
    return Problem(
        _(
            "Ring {ring} has {pixels} pixels: {fewer} pieces are longer than {most}, {parts} are shorter than {least}. "
            "Allow segments up to {longest} or down to {half}."
        ),
        "min_segment",
        ring=ring.number,
        pixels=ring.pixels,
        fewer=fewer,
        most=parameters.max_segment,
        parts=parts,
        least=parameters.min_segment,
        longest=longest,
        half=half,
    )


def rib_marks(ring: PlannedRing, ribs: int, pitch_m: float) -> list[int]:
    """After how many pixels from the seam each rib stands; the seam's own rib is left out."""
    bay = ring.circumference_m / pitch_m / ribs
    return [mark for mark in (round(rib * bay) for rib in range(1, ribs)) if 0 < mark < ring.pixels]


def joints_on_ribs(pixels: int, parts: int, marks: Sequence[int], parameters: PlanParameters) -> list[int]:
    """Where to join: as many joints on ribs as pieces within the limits allow, then as even as they get.

    An exact search from joint to joint over the ribs near each even joint and the even joint itself.
    """
    even = list(accumulate(near_equal(pixels, parts)))[:-1]
    on_rib = set(marks)
    best: dict[int, tuple[tuple[int, int], tuple[int, ...]]] = {0: ((0, 0), ())}
    for target in even:
        best = _next_joint(best, target, _near(marks, target), on_rib, parameters)
    within = [
        (cost, joints)
        for end, (cost, joints) in best.items()
        if parameters.min_segment <= pixels - end <= parameters.max_segment
    ]
    return list(min(within)[1]) if within else even


def _next_joint(
    best: dict[int, tuple[tuple[int, int], tuple[int, ...]]],
    target: int,
    candidates: Sequence[int],
    on_rib: set[int],
    parameters: PlanParameters,
) -> dict[int, tuple[tuple[int, int], tuple[int, ...]]]:
    """The best way to each place of the next joint, as place → (cost, joints so far)."""
    ways: dict[int, tuple[tuple[int, int], tuple[int, ...]]] = {}
    for place in candidates:
        own = (place not in on_rib, (place - target) ** 2)
        reached = [
            ((cost[0] + own[0], cost[1] + own[1]), (*joints, place))
            for start, (cost, joints) in best.items()
            if parameters.min_segment <= place - start <= parameters.max_segment
        ]
        if reached:
            ways[place] = min(reached)
    return ways


def _near(marks: Sequence[int], target: int) -> list[int]:
    """The ribs next to the even joint, in order, and that joint itself. ``marks`` rise."""
    at = bisect_left(marks, target)
    return sorted({*marks[max(0, at - _RIBS_TRIED) : at + _RIBS_TRIED], target})


def _refuse_many(pixels: int, parameters: PlanParameters) -> None:
    """A plan of millions of pieces was not meant, and would only keep people waiting."""
    for size, field, words in (
        (parameters.max_segment, "max_segment", "longest segment"),
        (parameters.capacity, "capacity", "capacity of a channel"),
    ):
        if pixels // size > _MOST_PIECES:
            what = Sentence(
                _("{pixels:,} pixels at {size} each make more than {most:,} pieces"),
                pixels=pixels,
                size=size,
                most=_MOST_PIECES,
            )
            raise Refused(
                Problem(
                    _("{what}: give a {words} of {least} or more."),
                    field,
                    what=what,
                    words=words,
                    least=-(-pixels // _MOST_PIECES),
                )
            )


def _refuse_long_bays(rings: Sequence[PlannedRing], parameters: PlanParameters, pitch_m: float) -> None:
    if parameters.ribs is None or not rings:
        return
    widest = max(rings, key=lambda ring: ring.circumference_m)
    bay = round(widest.circumference_m / pitch_m / parameters.ribs)
    if widest.pixels > parameters.max_segment and bay > parameters.max_segment:
        ribs = -(-widest.pixels // parameters.max_segment)
        what = _(
            "The longest segment ({most} pixels) is shorter than a bay ({bay} pixels on ring {ring}): allow segments "
            "of {bay}, or give {ribs} ribs or more."
        )
        raise Refused(Problem(what, "max_segment", most=parameters.max_segment, bay=bay, ring=widest.number, ribs=ribs))


def _by_hand(rings: Sequence[PlannedRing], parameters: PlanParameters) -> dict[int, list[int]]:
    counts = {ring.number: ring.pixels for ring in rings}
    problems = []
    for number, pieces in parameters.hand_pieces:
        if number not in counts:
            problems.append(
                Problem(
                    _("Ring {number} is not there: rings go from 1 to {rings}."),
                    "hand_pieces",
                    number=number,
                    rings=len(rings),
                )
            )
        elif sum(pieces) != counts[number]:
            problems.append(
                Problem(
                    _("Ring {number} has {pixels} pixels, its pieces add up to {pieces}: change one of them."),
                    "hand_pieces",
                    number=number,
                    pixels=counts[number],
                    pieces=sum(pieces),
                )
            )
    if problems:
        raise Refused(problems)
    return {number: list(pieces) for number, pieces in parameters.hand_pieces}


def _segments(
    ring: PlannedRing, pieces: Sequence[int], pitch_m: float, parameters: PlanParameters
) -> Iterator[PlannedSegment]:
    degree, first = 360.0 * pitch_m / ring.circumference_m, 1
    for piece, pixels in enumerate(pieces, start=1):
        start, end = (first - 1) * degree, (first - 1 + pixels) * degree
        closing = ring.closing or in_door(ring, start, end, parameters)
        yield PlannedSegment(ring.number, piece, first, pixels, start, end, closing)
        first += pixels


def in_door(ring: PlannedRing, from_deg: float, to_deg: float, parameters: PlanParameters) -> bool:
    """Whether a piece covers any of the door. The door's bays may run over the first rib, as from 7 to 2."""
    if parameters.closing_rings is None or parameters.closing_bays is None or parameters.ribs is None:
        return False
    if not parameters.closing_rings[0] <= ring.number <= parameters.closing_rings[1]:
        return False
    bay = 360.0 / parameters.ribs
    first, last = parameters.closing_bays
    width = ((last - first) % parameters.ribs + 1) * bay
    start = (ring.seam_deg + from_deg - (first - 1) * bay) % 360.0
    hair = 0.25 * (to_deg - from_deg) / max(1, ring.pixels)
    return start < width - hair or start + (to_deg - from_deg) > 360.0 + hair
