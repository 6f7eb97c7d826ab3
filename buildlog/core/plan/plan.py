"""A plan, whole: rings, segments, channels and what they add up to, checked at birth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from itertools import groupby
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.geometry.rings import lay_rings, to_rings
from buildlog.core.plan.geometry.strap import cut_segments
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedRun, PlannedSegment, Totals, Wiring
from buildlog.core.plan.remarks import remarks
from buildlog.core.plan.warning import PlanWarning
from buildlog.core.plan.wiring.channels import cut_channels
from buildlog.core.wording import _

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
    "tiling_problems",
]


@dataclass(frozen=True)
class BallPlan:
    """What is to be built, computed or on file; ``diameter_m``, ``pitch_m``, ``ring_spacing_m`` are those used."""

    parameters: PlanParameters
    diameter_m: float
    pitch_m: float
    ring_spacing_m: float
    rings: tuple[PlannedRing, ...]
    segments: tuple[PlannedSegment, ...]
    channels: tuple[PlannedChannel, ...]
    totals: Totals
    remarks: tuple[PlanWarning, ...] = ()
    wiring: Wiring | None = None  # as built; None: not built yet, reckoned from the rest wherever it is asked for

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        return tuple(str(remark) for remark in self.remarks)

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
    if problems := tiling_problems(rings, segments, channels, parameters.capacity):
        raise Refused(problems)
    warnings = (*layout.remarks, *remarks(rings, segments, channels, parameters, layout.pitch_m))
    ball = (2 * layout.radius_m, layout.pitch_m, layout.spacing_m)
    return BallPlan(parameters, *ball, rings, segments, channels, totals, warnings)


def _refuse_closing(rings: tuple[PlannedRing, ...], parameters: PlanParameters) -> None:
    if parameters.closing_rings and parameters.closing_rings[1] > len(rings):
        what = _("Closing ring {ring} is not there: rings go from 1 to {rings}.")
        raise Refused(Problem(what, "closing_rings", ring=parameters.closing_rings[1], rings=len(rings)))


def tiling_problems(
    rings: Sequence[PlannedRing],
    segments: Sequence[PlannedSegment],
    channels: Sequence[PlannedChannel],
    capacity: int,
) -> list[Problem]:
    """What of these parts does not fit together: every pixel is on one segment and one run, no channel too long."""
    return [
        *_ring_problems(rings),
        *_segment_problems(rings, segments),
        *_channel_problems(channels, capacity),
        *_run_problems(segments, channels),
    ]


def _ring_problems(rings: Sequence[PlannedRing]) -> Iterator[Problem]:
    if [ring.number for ring in rings] != list(range(1, len(rings) + 1)) or not rings:
        yield Problem(_("The rings of the plan are not 1, 2, 3… without a gap."))
    for above, ring in zip(rings, rings[1:], strict=False):
        if ring.polar_deg <= above.polar_deg:
            yield Problem(_("Ring {ring} does not lie below ring {above}."), ring=ring.number, above=above.number)


def _segment_problems(rings: Sequence[PlannedRing], segments: Sequence[PlannedSegment]) -> Iterator[Problem]:
    """The segments of a ring follow one another without gap or overlap."""
    of_ring = {number: list(group) for number, group in groupby(segments, key=lambda segment: segment.ring)}
    for ring in rings:
        at = 1
        for number, segment in enumerate(of_ring.pop(ring.number, []), start=1):
            if segment.first_pixel != at or segment.piece != number or segment.pixels < 1:
                yield Problem(_("Segment {code} does not follow the segment before it."), code=segment.code)
            at += segment.pixels
        if at != ring.pixels + 1:
            yield Problem(
                _("The segments of ring {ring} hold {held} pixels, the ring holds {pixels}."),
                ring=ring.number,
                held=at - 1,
                pixels=ring.pixels,
            )
    for number in of_ring:
        yield Problem(_("The plan has no ring {ring}, but segments on it."), ring=number)


def _channel_problems(channels: Sequence[PlannedChannel], capacity: int) -> Iterator[Problem]:
    if [channel.number for channel in channels] != list(range(1, len(channels) + 1)):
        yield Problem(_("The channels of the plan are not 1, 2, 3… without a gap."))
    for channel in channels:
        if channel.pixels > capacity:
            yield Problem(
                _("Channel {channel} drives {pixels} pixels, its capacity is {capacity}."),
                channel=channel.number,
                pixels=channel.pixels,
                capacity=capacity,
            )


def _run_problems(segments: Sequence[PlannedSegment], channels: Sequence[PlannedChannel]) -> Iterator[Problem]:
    """Every pixel of a segment on exactly one run."""
    spans: dict[str, list[tuple[int, int]]] = {segment.code: [] for segment in segments}
    for channel in channels:
        for run in channel.runs:
            spans.setdefault(run.segment, []).append((run.first, run.last))
    lengths = {segment.code: segment.pixels for segment in segments}
    for code, parts in spans.items():
        if not _tiles(sorted(parts), lengths.get(code, 0)):
            yield Problem(_("The runs of segment {code} do not cover it once."), code=code)


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
