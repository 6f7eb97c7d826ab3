"""A plan on file from before rings were kept: what its rows leave open is computed once, and the rows hold.

Only segments and runs were kept then, and everything else was computed anew at every look.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import datetime
from itertools import groupby
from typing import Any

from buildlog.core.plan.built import Built, built_of
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedRun, PlannedSegment
from buildlog.core.plan.plan import BallPlan, compute, tiling_problems
from buildlog.core.plan.warning import PlanWarning

Row = dict[str, Any]  # of a table, by column; one that points at another row holds its place there, from 1


def complete(plans: Sequence[Row], segments: Sequence[Row], runs: Sequence[Row]) -> list[Row]:
    """The rows of the rings of every revision, in the order of the revisions.

    Completes the rows given: a run with where it ``begins`` in its channel, a segment with the ring that it
    ``lies_on``, a frozen plan with what is ``built`` and its ``wiring``. Raises Refused for parameters that make no
    plan, KeyError, TypeError or ValueError for rows that are none of these tables.
    """
    channels = _placed(segments, runs)
    rings: list[Row] = []
    places = sorted(range(len(plans)), key=lambda place: plans[place]["revision"])
    for place, after in zip(places, [*places[1:], None], strict=True):
        later = None if after is None else plans[after]
        own = [row for row in segments if row.get("lies_on") is None and _was_of(row, later)]
        current = [row for row in own if later is None and row["retired_at"] is None]
        segments_now = sorted(map(_planned, current), key=lambda segment: (segment.ring, segment.piece))
        parameters = PlanParameters.from_json(plans[place]["parameters"])
        of_plan, built = on_file(parameters, segments_now, channels if current else ())
        for row in own:
            row["lies_on"] = len(rings) + min(row["ring"], len(of_plan))
        if plans[place]["frozen_at"] is not None:
            plans[place].update(built.to_json())
        rings += [{"plan": place + 1, **{f.name: getattr(ring, f.name) for f in fields(ring)}} for ring in of_plan]
    return rings


def _placed(segments: Sequence[Row], runs: Sequence[Row]) -> tuple[PlannedChannel, ...]:
    """Put the pixel at which it begins on each run; the channels that they make."""
    chains: dict[int, list[PlannedRun]] = {}
    for row in sorted(runs, key=lambda row: (row["channel"], row["position"])):
        chain = chains.setdefault(row["channel"], [])
        row["begins"] = 1 + sum(before.pixels for before in chain)
        chain.append(PlannedRun(segments[row["segment"] - 1]["code"], row["first"], row["last"], row["reversed"]))
    return tuple(PlannedChannel(number, tuple(chain)) for number, chain in chains.items())


def _was_of(segment: Row, later: Row | None) -> bool:
    """A segment was retired by the revision after its own, at the same moment."""
    if later is None:
        return True
    return segment["retired_at"] is not None and _moment(segment["retired_at"]) <= _moment(later["created_at"])


def _moment(value: datetime | str) -> datetime:
    return datetime.fromisoformat(value) if isinstance(value, str) else value


def _planned(row: Row) -> PlannedSegment:
    return PlannedSegment(**{field.name: row[field.name] for field in fields(PlannedSegment)})


def on_file(
    parameters: PlanParameters, segments: Sequence[PlannedSegment], channels: Sequence[PlannedChannel]
) -> tuple[tuple[PlannedRing, ...], Built]:
    """The rings and the facts of a plan with these segments and runs. Where they are not those that the parameters
    give today, theirs are the pixels of a ring, and a warning says how many differ.
    """
    plan = compute(parameters)
    if not segments:
        return plan.rings, built_of(plan)
    rings = _rings(plan, segments)
    differ = {
        "segments": _differing(plan.segments, segments),
        "runs": _differing(_runs(plan.channels), _runs(channels)),
    }
    if any(differ.values()):
        warnings = (*plan.remarks, PlanWarning("on file", differ))
        kept = replace(plan, rings=rings, segments=tuple(segments), channels=tuple(channels), remarks=warnings)
        pixels = sum(segment.pixels for segment in segments)
        totals = replace(
            plan.totals, rings=len(rings), pixels=pixels, segments=len(segments), joints=len(segments) - len(rings),
            channels=len(channels), strap_m=pixels * plan.pitch_m,
        )  # fmt: skip
        # Rows that do not fit together cannot be wired; the audit names them.
        broken = tiling_problems(rings, segments, channels, parameters.capacity)
        plan = replace(plan if broken else kept, totals=totals, remarks=warnings)
    return rings, built_of(plan)


def _rings(plan: BallPlan, segments: Sequence[PlannedSegment]) -> tuple[PlannedRing, ...]:
    of_ring = {number: list(group) for number, group in groupby(segments, key=lambda segment: segment.ring)}
    rings = list(plan.rings)
    while len(rings) < max(of_ring):  # more rings on file than there would be today: one spacing further down each
        rings.append(_next_ring(plan, rings[-1]))
    return tuple(_filled(ring, of_ring.get(ring.number, []), plan.pitch_m) for ring in rings)


def _filled(ring: PlannedRing, segments: Sequence[PlannedSegment], pitch_m: float) -> PlannedRing:
    pixels = sum(segment.pixels for segment in segments)
    if not segments or pixels == ring.pixels:
        return ring
    return replace(ring, pixels=pixels, seam_gap_m=ring.circumference_m - pixels * pitch_m)


def _next_ring(plan: BallPlan, above: PlannedRing) -> PlannedRing:
    radius = plan.diameter_m / 2
    step = math.degrees(plan.ring_spacing_m / radius)
    polar = min(above.polar_deg + step, (above.polar_deg + 180.0) / 2)
    around = math.sin(math.radians(polar)) * radius
    return replace(
        above, number=above.number + 1, polar_deg=polar, height_m=radius * (1 + math.cos(math.radians(polar))),
        radius_m=around, circumference_m=math.tau * around, pixels=0, shift_m=0.0,
    )  # fmt: skip


def _differing(planned: Sequence[object], stored: Sequence[object]) -> int:
    """How many of the one are not among the other, whichever are more: one that is missing differs too."""
    now, then = set(map(_what_counts, planned)), set(map(_what_counts, stored))
    return max(len(then - now), len(now - then))


def _what_counts(part: object) -> object:
    """Degrees are left out: they follow from pixels, and the last digit of a number may come out otherwise."""
    return replace(part, from_deg=0.0, to_deg=0.0) if isinstance(part, PlannedSegment) else part


def _runs(channels: Sequence[PlannedChannel]) -> list[object]:
    return [(channel.number, placed) for channel in channels for placed in channel.placed]
