"""A plan, whole: rings, segments, channels and what they add up to, checked at birth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cached_property
from itertools import groupby
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.geometry.rings import lay_rings, to_rings
from buildlog.core.plan.geometry.strap import cut_segments
from buildlog.core.plan.parameters import MeasuredRing, PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedRun, PlannedSegment, Totals
from buildlog.core.plan.remarks import remarks
from buildlog.core.plan.wiring.channels import cut_channels

__all__ = [
    "PlannedChannel",
    "MeasuredRing",
    "BallPlan",
    "PlanParameters",
    "PlannedRing",
    "PlannedRun",
    "PlannedSegment",
    "Totals",
    "compute",
]


@dataclass(frozen=True)
class BallPlan:
    """What is to be built. ``diameter_m``, ``pitch_m`` and ``ring_spacing_m`` are those used, given or fitted."""

    parameters: PlanParameters
    diameter_m: float
    pitch_m: float
    ring_spacing_m: float
    rings: tuple[PlannedRing, ...]
    segments: tuple[PlannedSegment, ...]
    channels: tuple[PlannedChannel, ...]
    totals: Totals
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if problems := [*_ring_problems(self), *_segment_problems(self), *_run_problems(self)]:
            raise Refused(problems)

    @cached_property
    def by_code(self) -> dict[str, PlannedSegment]:
        """Segments by their code."""
        return {segment.code: segment for segment in self.segments}

    def as_json(self, build: str | None = None) -> dict[str, Any]:
        """The plan as plain lists and dicts, angles in degrees, lengths in metres."""
        return {
            "build": build,
            "parameters": self.parameters.to_json(),
            "ball": {
                "diameter_m": self.diameter_m,
                "pitch_m": self.pitch_m,
                "ring_spacing_m": self.ring_spacing_m,
            },
            "rings": [_ring_json(ring) for ring in self.rings],
            "segments": [_segment_json(segment) for segment in self.segments],
            "channels": [_channel_json(channel) for channel in self.channels],
            "totals": asdict(self.totals),
            "warnings": list(self.warnings),
        }


def compute(parameters: PlanParameters) -> BallPlan:
    """The plan these parameters make; the same parameters always make the same plan.

    Raises Refused, with the option as ``field``, when no such ball is possible.
    """
    layout = lay_rings(parameters)
    rings = to_rings(layout, parameters)
    _refuse_closing(rings, parameters)
    segments = cut_segments(rings, parameters, layout.pitch_m)
    channels = cut_channels(segments, parameters)
    pixels = int(layout.pixels.sum())
    totals = Totals(
        rings=len(rings),
        pixels=pixels,
        segments=len(segments),
        joints=len(segments) - len(rings),
        channels=len(channels),
        strap_m=pixels * layout.pitch_m,
        zone_area_pixels=layout.zone_area_pixels,
    )
    said = (*layout.remarks, *remarks(rings, segments, channels, parameters, layout.pitch_m))
    ball = (2 * layout.radius_m, layout.pitch_m, layout.spacing_m)
    return BallPlan(parameters, *ball, rings, segments, channels, totals, said)


def _refuse_closing(rings: tuple[PlannedRing, ...], given: PlanParameters) -> None:
    if given.closing_rings and given.closing_rings[1] > len(rings):
        what = f"Closing ring {given.closing_rings[1]} is not there: rings go from 1 to {len(rings)}."
        raise Refused(Problem(what, "closing_rings"))


def _ring_problems(plan: BallPlan) -> Iterator[Problem]:
    if [ring.number for ring in plan.rings] != list(range(1, len(plan.rings) + 1)) or not plan.rings:
        yield Problem("A plan has rings 1, 2, 3… without a gap: compute it again.")
    angles = [ring.polar_deg for ring in plan.rings]
    if any(after <= before for before, after in zip(angles, angles[1:], strict=False)):
        yield Problem("Each ring of a plan lies below the one before: compute it again.")


def _segment_problems(plan: BallPlan) -> Iterator[Problem]:
    """Every pixel on exactly one segment: the pieces of a ring follow one another without gap or overlap."""
    pieces = {number: list(group) for number, group in groupby(plan.segments, key=lambda segment: segment.ring)}
    for ring in plan.rings:
        at = 1
        for number, segment in enumerate(pieces.get(ring.number, []), start=1):
            if segment.first_pixel != at or segment.piece != number or segment.pixels < 1:
                yield Problem(f"Segment {segment.code} does not follow the piece before it: compute the plan again.")
            at += segment.pixels
        if at != ring.pixels + 1:
            yield Problem(f"The segments of ring {ring.number} do not add up to its pixels: compute the plan again.")


def _run_problems(plan: BallPlan) -> Iterator[Problem]:
    """Every pixel on exactly one run, and no channel above the capacity."""
    spans: dict[str, list[tuple[int, int]]] = {segment.code: [] for segment in plan.segments}
    for channel in plan.channels:
        if channel.pixels > plan.parameters.capacity:
            yield Problem(f"Channel {channel.number} is above the capacity: compute the plan again.")
        for run in channel.runs:
            spans.setdefault(run.segment, []).append((run.first, run.last))
    lengths = {segment.code: segment.pixels for segment in plan.segments}
    for code, parts in spans.items():
        if not _tiles(sorted(parts), lengths.get(code, 0)):
            yield Problem(f"The runs of segment {code} do not cover it once: compute the plan again.")


def _tiles(parts: list[tuple[int, int]], pixels: int) -> bool:
    at = 1
    for first, last in parts:
        if first != at or last < first:
            return False
        at = last + 1
    return at == pixels + 1


def _ring_json(ring: PlannedRing) -> dict[str, Any]:
    out = _flat(ring)
    return {"ring": out.pop("number"), **out}


def _segment_json(segment: PlannedSegment) -> dict[str, Any]:
    return {"code": segment.code, **_flat(segment)}


def _channel_json(channel: PlannedChannel) -> dict[str, Any]:
    runs = [
        {"segment": run.segment, "from": run.first, "to": run.last, "reversed": run.reversed} for run in channel.runs
    ]
    return {"channel": channel.number, "pixels": channel.pixels, "runs": runs}


def _flat(part: PlannedRing | PlannedSegment) -> dict[str, Any]:
    # dataclasses.asdict copies deeply and is slow for many thousand parts.
    return {name: getattr(part, name) for name in part.__dataclass_fields__}
