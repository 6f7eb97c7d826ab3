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
    parameters: PlanParameters,
    pitch_m: float,
) -> Iterator[PlanWarning]:
    """Each with what to do."""
    yield from _snapped(rings, parameters)
    yield from _gaps(rings, pitch_m)
    yield from _strain(rings, parameters)
    yield from _joints(rings, segments, parameters, pitch_m)
    yield from _hand(segments, parameters)
    yield from _spares(channels, parameters)


def _snapped(rings: Sequence[PlannedRing], parameters: PlanParameters) -> Iterator[PlanWarning]:
    if parameters.snap_share:
        whole, moved = sum(ring.seam_gap_m == 0.0 for ring in rings), max(abs(ring.shift_m) for ring in rings)
        yield PlanWarning("snapped", {"whole": whole, "count": len(rings), "moved_m": moved})


def _gaps(rings: Sequence[PlannedRing], pitch_m: float) -> Iterator[PlanWarning]:
    short = [ring for ring in rings if ring.seam_gap_m < -_GAP_SLACK * pitch_m]
    if short:
        worst = min(short, key=lambda ring: ring.seam_gap_m)
        figures = {"rings": _numbers(short), "short_m": -worst.seam_gap_m, "ring": worst.number}
        yield PlanWarning("gaps", figures)


def _strain(rings: Sequence[PlannedRing], parameters: PlanParameters) -> Iterator[PlanWarning]:
    over = [ring for ring in rings if ring.edge_strain > parameters.edge_strain_limit]
    if over:
        figures = {
            "rings": _numbers(over), "strap_m": parameters.strap_width_m,
            "worst": max(ring.edge_strain for ring in over), "limit": parameters.edge_strain_limit,
        }  # fmt: skip
        yield PlanWarning("strain", figures)


def _numbers(rings: Sequence[PlannedRing]) -> list[int]:
    return [ring.number for ring in rings]


def _joints(
    rings: Sequence[PlannedRing], segments: Sequence[PlannedSegment], parameters: PlanParameters, pitch_m: float
) -> Iterator[PlanWarning]:
    if parameters.ribs is None:
        return
    cut = {segment.ring for segment in segments if segment.piece > 1}
    marks = {ring.number: set(rib_marks(ring, parameters.ribs, pitch_m)) for ring in rings if ring.number in cut}
    off = [segment for segment in segments if segment.piece > 1 and segment.first_pixel - 1 not in marks[segment.ring]]
    if off:
        where = sorted({segment.ring for segment in off})
        yield PlanWarning("joints", {"off": len(off), "joints": len(segments) - len(rings), "rings": where})


def _hand(segments: Sequence[PlannedSegment], parameters: PlanParameters) -> Iterator[PlanWarning]:
    edited = {number for number, _ in parameters.hand_pieces}
    limits = {"least": parameters.min_segment, "most": parameters.max_segment}
    for segment in segments:
        if segment.ring in edited and not parameters.min_segment <= segment.pixels <= parameters.max_segment:
            yield PlanWarning("hand", {"segment": segment.code, "pixels": segment.pixels, **limits})


def _spares(channels: Sequence[PlannedChannel], parameters: PlanParameters) -> Iterator[PlanWarning]:
    if parameters.outputs is None:
        return
    spare, left = math.ceil(parameters.outputs * parameters.spare_share - 1e-9), parameters.outputs - len(channels)
    if left < spare:
        figures = {
            "used": len(channels), "outputs": parameters.outputs, "left": left, "spare": spare,
            "share": parameters.spare_share,
        }  # fmt: skip
        yield PlanWarning("last spare" if left == 1 else "spares", figures)
