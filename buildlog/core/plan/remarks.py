"""What a plan should make the lead look twice at; nothing here stops it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from buildlog.core.plan.checking import say_rings
from buildlog.core.plan.geometry.strap import rib_marks
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedSegment
from buildlog.core.units import show_length

# A gap that is short by less than this share of the pitch is lost in how holes are punched.
_GAP_SLACK = 0.02


def remarks(
    rings: Sequence[PlannedRing],
    segments: Sequence[PlannedSegment],
    channels: Sequence[PlannedChannel],
    given: PlanParameters,
    pitch_m: float,
) -> Iterator[str]:
    """Sentences, each with what to do."""
    yield from _snapped(rings, given)
    yield from _gaps(rings, pitch_m)
    yield from _strain(rings, given)
    yield from _joints(rings, segments, given, pitch_m)
    yield from _hand(segments, given)
    yield from _spares(channels, given)


def _snapped(rings: Sequence[PlannedRing], given: PlanParameters) -> Iterator[str]:
    if given.snap_share:
        whole, moved = sum(ring.seam_gap_m == 0.0 for ring in rings), max(abs(ring.shift_m) for ring in rings)
        yield f"{whole} of {len(rings)} rings hold whole pitches; rings moved by up to {show_length(moved)} for it."


def _gaps(rings: Sequence[PlannedRing], pitch_m: float) -> Iterator[str]:
    short = [ring for ring in rings if ring.seam_gap_m < -_GAP_SLACK * pitch_m]
    if short:
        worst = min(short, key=lambda ring: ring.seam_gap_m)
        what = f"{say_rings(ring.number for ring in short)}: the pixels need more strap than the ring is round,"
        what = f"{what} by up to {show_length(-worst.seam_gap_m)} (ring {worst.number})."
        yield f"{what} Count them again or use a smaller pitch."


def _strain(rings: Sequence[PlannedRing], given: PlanParameters) -> Iterator[str]:
    over = [ring for ring in rings if ring.edge_strain > given.edge_strain_limit]
    if over:
        worst = max(over, key=lambda ring: ring.edge_strain)
        what = (
            f"{say_rings(ring.number for ring in over)}: the edges of a {show_length(given.strap_width_m)} strap must"
        )
        what = f"{what} shorten and stretch by up to {worst.edge_strain:.1%}, more than {given.edge_strain_limit:.1%}."
        yield f"{what} Use a narrower strap there, or a larger opening."


def _joints(
    rings: Sequence[PlannedRing], segments: Sequence[PlannedSegment], given: PlanParameters, pitch_m: float
) -> Iterator[str]:
    if given.ribs is None:
        return
    cut = {piece.ring for piece in segments if piece.piece > 1}
    marks = {ring.number: set(rib_marks(ring, given.ribs, pitch_m)) for ring in rings if ring.number in cut}
    off = [piece for piece in segments if piece.piece > 1 and piece.first_pixel - 1 not in marks[piece.ring]]
    if off:
        where = say_rings({piece.ring for piece in off})
        what = f"{len(off)} of {len(segments) - len(rings)} joints are not on a rib ({where})"
        yield f"{what}: longer segments or more ribs would bring them there."


def _hand(segments: Sequence[PlannedSegment], given: PlanParameters) -> Iterator[str]:
    edited = {number for number, _ in given.hand_pieces}
    for piece in segments:
        if piece.ring in edited and not given.min_segment <= piece.pixels <= given.max_segment:
            limits = f"outside {given.min_segment} to {given.max_segment}"
            yield f"Segment {piece.code}, cut by hand, has {piece.pixels} pixels, {limits}."


def _spares(channels: Sequence[PlannedChannel], given: PlanParameters) -> Iterator[str]:
    if given.outputs is None:
        return
    kept, left = math.ceil(given.outputs * given.spare_share - 1e-9), given.outputs - len(channels)
    if left < kept:
        what = f"{len(channels)} of {given.outputs} outputs are used, {left} {'is' if left == 1 else 'are'} left;"
        yield f"{what} {kept} should stay spare ({given.spare_share:.0%})."
