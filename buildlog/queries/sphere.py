"""The map: every segment as it stands, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from django.db.models import F, QuerySet

from buildlog.core.work.board import Board, Filter
from buildlog.core.work.order import CloseInState, RunLink, workable
from buildlog.core.work.stages import Stage
from buildlog.models import Build, CloseIn, Note, Plan, Run, Segment
from buildlog.queries.segments import cell_of

Links = defaultdict[int, list[RunLink]]


def version_of(build: Build) -> str:
    """Changes whenever the map may look different (three queries): ledger, records of acts, notes."""
    entries = build.entries.count()
    last = build.records.order_by("-id").values_list("id", flat=True).first() or 0
    notes = build.notes.filter(settled_at__isnull=True).count()
    return f"{entries}.{last}.{notes}"


def board_of(build: Build, wanted: Filter | None = None, ring: int | None = None, azimuth_deg: float = 0.0) -> Board:
    """Every segment of the plan in force (five queries: plan, segments, runs, notes, the word to close in).

    Segments that ``wanted`` leaves out are dim. ``ring`` and ``azimuth_deg`` say where the window begins.
    """
    plan = Plan.objects.filter(build=build).defer("built").first()
    segments: QuerySet[Segment] = build.segments.current().select_related("assigned_to")
    rows = list(segments.annotate(seam_deg=F("lies_on__seam_deg")))
    if plan is None or not rows:
        return Board(())
    parameters = plan.read()
    links, notes, way_in = _links(build, rows), _notes(build), _way_in(build, rows)
    cells = (
        cell_of(row, row.seam_deg, links[row.pk], notes=notes[row.pk], now=_now(row, links[row.pk], way_in))
        for row in rows
    )
    shown = tuple(cell if wanted is None or wanted.takes(cell) else replace(cell, dim=True) for cell in cells)
    return Board(shown, parameters.ribs, ring, azimuth_deg)


def _links(build: Build, rows: Sequence[Segment]) -> Links:
    """The runs of each segment, each with what keeps the data from reaching it."""
    wired = {row.pk: (row.code, row.wired) for row in rows}
    links: Links = defaultdict(list)
    unwired: dict[int, list[str]] = defaultdict(list)
    runs = Run.objects.filter(build=build).order_by("channel", "begins")
    for pk, channel, first, last in runs.values_list("segment_id", "channel", "first", "last"):
        links[pk].append(RunLink(channel, first, last, tuple(unwired[channel])))
        code, count = wired[pk]
        if count < last:
            unwired[channel].append(code)
    return links


def _notes(build: Build) -> defaultdict[int, int]:
    """How many open notes each segment has."""
    open_notes: defaultdict[int, int] = defaultdict(int)
    for pk in Note.objects.filter(build=build, settled_at__isnull=True).values_list("segment_id", flat=True):
        open_notes[pk] += 1
    return open_notes


def _way_in(build: Build, rows: Sequence[Segment]) -> CloseInState:
    """What stands between the build and closing the way in, from the segments at hand."""
    others = [row.standing for row in rows if not row.closing]
    word = CloseIn.objects.standing().filter(build=build).first()
    return CloseInState(
        unwired=sum(not each.passed(Stage.WIRE) for each in others),
        untested=sum(not each.passed(Stage.TEST) for each in others),
        confirmed=word is not None and word.confirmed,
        overridden=word is not None and bool(word.override_reason),
    )


def _now(row: Segment, links: list[RunLink], way_in: CloseInState) -> list[Stage]:
    return [stage for stage, _ in workable(row.standing, links, way_in)]
