"""One segment of a build with everything its page says."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Max

from buildlog.core.work.detail import Detail, steps_of
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.order import RunLink
from buildlog.core.work.stages import STAGES
from buildlog.models import Build, CloseIn, LedgerEntry, Segment

HISTORY = 8


def find_segment(build: Build, code: str) -> Segment | None:
    """The segment of the plan in force with this code, however it is written; None when there is none."""
    return build.segments.current().select_related("assigned_to", "lies_on").filter(code=code.upper()).first()


def detail_of(build: Build, segment: Segment) -> Detail:
    """The segment looked at closely (its runs, one query for each; way in; notes; number of rings)."""
    links = segment.links()
    close_in = CloseIn.objects.state_of(build) if segment.closing else None
    rings = build.segments.current().aggregate(last=Max("ring"))["last"]
    steps = steps_of(segment.standing, links, close_in)
    notes = segment.notes.filter(settled_at__isnull=True).count()
    cell = cell_of(segment, segment.lies_on.seam_deg, links, notes=notes)
    return Detail(cell, rings, steps, tuple(links))


def cell_of(
    segment: Segment, seam_deg: float, links: Sequence[RunLink], *, notes: int = 0, now: Sequence[str] = ()
) -> MapCell:
    """The segment as maps show it; ``now`` are the stages that may be worked on."""
    standing, helper = segment.standing, segment.assigned_to
    return MapCell(
        code=segment.code,
        ring=segment.ring,
        piece=segment.piece,
        pixels=segment.pixels,
        from_deg=seam_deg + segment.from_deg,
        to_deg=seam_deg + segment.to_deg,
        done=tuple(standing.count(stage) for stage in STAGES),
        closing=segment.closing,
        now=tuple(stage for stage in STAGES if stage in now),
        notes=notes,
        helper=helper.pk if helper else None,
        name=helper.name if helper else "",
        initials=helper.initials if helper else "",
        channels=tuple(sorted({link.channel for link in links})),
    )


def history_of(segment: Segment) -> list[LedgerEntry]:
    """The last entries of the ledger on this segment, newest first."""
    return list(segment.entries.select_related("actor", "undone_by").order_by("-at", "-arrived_at")[:HISTORY])
