"""The plan of a build to look at: a frozen one as its rows have it, a draft as it would be cut now."""

from __future__ import annotations

from itertools import groupby

from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedRun, PlannedSegment
from buildlog.core.plan.plan import BallPlan, compute
from buildlog.models import Plan, Run, Segment

Parts = tuple[tuple[PlannedRing, ...], tuple[PlannedSegment, ...], tuple[PlannedChannel, ...]]


def ball_plan(plan: Plan) -> BallPlan:
    """What every screen and table shows of the build's newest plan (three queries when it is frozen)."""
    return as_built(plan) if plan.frozen else compute(plan.read())


def as_built(plan: Plan) -> BallPlan:
    """The frozen plan in force; nothing of it is computed (three queries: rings, segments, runs)."""
    built = plan.read_built()
    return BallPlan(
        plan.read(), built.diameter_m, built.pitch_m, built.ring_spacing_m, *stored_parts(plan), built.totals,
        built.warnings, built.wiring,
    )  # fmt: skip


def stored_parts(plan: Plan) -> Parts:
    """Rings, segments and channels of the build's newest plan as they are on file (three queries)."""
    rings = tuple(row.planned for row in plan.rings.order_by("number"))
    segments = tuple(row.planned for row in Segment.objects.current().filter(build=plan.build_id))
    return rings, segments, _channels(plan)


def _channels(plan: Plan) -> tuple[PlannedChannel, ...]:
    rows = Run.objects.filter(build=plan.build_id).order_by("channel", "begins")
    values = rows.values_list("channel", "segment__code", "first", "last", "reversed")
    return tuple(
        PlannedChannel(number, tuple(PlannedRun(code, first, last, back) for _, code, first, last, back in group))
        for number, group in groupby(values, key=lambda value: value[0])
    )
