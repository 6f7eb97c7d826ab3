"""What a plan should make the lead look twice at; nothing here stops it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from buildlog.core.plan.geometry.strap import rib_marks
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedSegment
from buildlog.core.plan.warning import PlanWarning

# A gap that is short by less than this share of the pitch is lost in how holes are punched.
_GAP_SLACK = 0.02


def remarks(
    rings: Sequence[PlannedRing],
    segments: Sequence[PlannedSegment],
    channels: Sequence[PlannedChannel],
    given: PlanParameters,
    pitch_m: float,
) -> Iterator[PlanWarning]:
    """Each with what to do."""
    yield from _snapped(rings, given)
    yield from _gaps(rings, pitch_m)
    yield from _strain(rings, given)
    yield from _joints(rings, segments, given, pitch_m)
    yield from _hand(segments, given)
    yield from _spares(channels, given)


def _snapped(rings: Sequence[PlannedRing], given: PlanParameters) -> Iterator[PlanWarning]:
    if given.snap_share:
        whole, moved = sum(ring.seam_gap_m == 0.0 for ring in rings), max(abs(ring.shift_m) for ring in rings)
        yield PlanWarning("snapped", {"whole": whole, "count": len(rings), "moved_m": moved})


def _gaps(rings: Sequence[PlannedRing], pitch_m: float) -> Iterator[PlanWarning]:
    short = [ring for ring in rings if ring.seam_gap_m < -_GAP_SLACK * pitch_m]
    if short:
        worst = min(short, key=lambda ring: ring.seam_gap_m)
        figures = {"rings": _numbers(short), "short_m": -worst.seam_gap_m, "ring": worst.number}
        yield PlanWarning("gaps", figures)


def _strain(rings: Sequence[PlannedRing], given: PlanParameters) -> Iterator[PlanWarning]:
    over = [ring for ring in rings if ring.edge_strain > given.edge_strain_limit]
    if over:
        figures = {
            "rings": _numbers(over), "strap_m": given.strap_width_m,
            "worst": max(ring.edge_strain for ring in over), "limit": given.edge_strain_limit,
        }  # fmt: skip
        yield PlanWarning("strain", figures)


def _numbers(rings: Sequence[PlannedRing]) -> list[int]:
    return [ring.number for ring in rings]


def _joints(
    rings: Sequence[PlannedRing], segments: Sequence[PlannedSegment], given: PlanParameters, pitch_m: float
) -> Iterator[PlanWarning]:
    if given.ribs is None:
        return
    cut = {segment.ring for segment in segments if segment.piece > 1}
    marks = {ring.number: set(rib_marks(ring, given.ribs, pitch_m)) for ring in rings if ring.number in cut}
    off = [segment for segment in segments if segment.piece > 1 and segment.first_pixel - 1 not in marks[segment.ring]]
    if off:
        where = sorted({segment.ring for segment in off})
        yield PlanWarning("joints", {"off": len(off), "joints": len(segments) - len(rings), "rings": where})


def _hand(segments: Sequence[PlannedSegment], given: PlanParameters) -> Iterator[PlanWarning]:
    edited = {number for number, _ in given.hand_pieces}
    limits = {"least": given.min_segment, "most": given.max_segment}
    for segment in segments:
        if segment.ring in edited and not given.min_segment <= segment.pixels <= given.max_segment:
            yield PlanWarning("hand", {"segment": segment.code, "pixels": segment.pixels, **limits})


def _spares(channels: Sequence[PlannedChannel], given: PlanParameters) -> Iterator[PlanWarning]:
    if given.outputs is None:
        return
    spare, left = math.ceil(given.outputs * given.spare_share - 1e-9), given.outputs - len(channels)
    if left < spare:
        figures = {
            "used": len(channels), "outputs": given.outputs, "left": left, "spare": spare, "share": given.spare_share,
        }  # fmt: skip
        yield PlanWarning("last spare" if left == 1 else "spares", figures)
