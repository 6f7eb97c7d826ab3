"""Segments as they stand at one moment, for handing them out: whose, how far, who is at them."""

from __future__ import annotations

from buildlog.core.forecast.result.document.assignments import SegmentNow
from buildlog.core.work.stages import STAGES
from buildlog.models.build import Build
from buildlog.models.work import StintMember


def standing_of(build: Build) -> dict[str, SegmentNow]:
    """By code, all segments of the plan in force: two queries."""
    running = StintMember.objects.filter(stint__build=build, open=True, stint__segment__isnull=False)
    at_work = dict(running.values_list("stint__segment__code", "person__name"))
    rows = build.segments.current().select_related("assigned_to")
    return {
        row.code: SegmentNow(
            row.assigned_to.name if row.assigned_to else "",
            tuple(max(0, min(row.sums[stage], row.pixels)) for stage in STAGES),
            at_work.get(row.code, ""),
        )
        for row in rows
    }
