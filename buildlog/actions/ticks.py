"""Ticking: what the ledger takes, each time with the segment's sums in the same transaction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection, transaction
from django.db.models import F, IntegerField

from buildlog.core.errors import Problem, Refused
from buildlog.core.work.ledger import Kind, fingerprint
from buildlog.core.work.order import why_not, why_not_back
from buildlog.core.work.stages import Stage, order_of
from buildlog.models import Build, CloseIn, LedgerEntry, Person, Segment, Stint
from buildlog.models.worded import Append, Blank, Change, Lookup


@dataclass(frozen=True, slots=True)
class Moment:
    """When something happened (``at``, server clock), by the device's own clock, and when it arrived. All UTC."""

    at: datetime
    made_at: datetime
    arrived_at: datetime

    @classmethod
    def now(cls, now: datetime) -> Moment:
        return cls(now, now, now)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The entry as it stands in the ledger, and whether it was there before."""

    entry: LedgerEntry
    had_it: bool = False


_build_for_update = Lookup(Build.objects.select_for_update(no_key=True), "id")
_current_segment = Lookup(Segment.objects.current(), "build_id", "code")
_entry = Lookup(LedgerEntry.objects.all(), "id")
_append_entry = Append(LedgerEntry)
_add = {
    stage: Change(Segment, "id", **{stage.done: F(stage.done) + Blank("pixels", IntegerField())}) for stage in Stage
}


def lock(build: Build) -> None:
    """Queue behind everyone who writes to this build's ledger.

    The rules look beyond one segment (the chain before it, the way in), so one row for the whole build is held. The
    key itself is not, or rows that only point at the build would have to wait as well. SQLite has no such lock and
    needs none: a transaction that will write keeps all other writers out from its first statement.
    """
    if connection.features.has_select_for_update:
        _build_for_update(id=build.pk)


@transaction.atomic
def tick(
    *,
    build: Build,
    actor: Person | None,
    entry_id: UUID,
    segment_code: str,
    stage: Stage,
    pixels: int,
    moment: Moment,
    stint: Stint | None = None,
    note: str = "",
) -> Outcome:
    """Say that ``pixels`` more pixels of a segment have passed ``stage``.

    The helpers of ``stint`` get the credit, or the actor when there is none. Raises Refused with the sentence that
    says what is missing.
    """
    lock(build)
    says = fingerprint([Kind.TICK, segment_code, stage, pixels, actor and actor.pk])
    if (entry := _already(build, entry_id, says)) is not None:
        return Outcome(entry, had_it=True)
    segment = current_segment(build, segment_code)
    _check_order(build, segment, stage, pixels)
    return Outcome(
        _append(build, actor, segment, stage, pixels, Kind.TICK, entry_id, says, moment, stint=stint, note=note)
    )


@transaction.atomic
def undo(*, build: Build, actor: Person | None, entry_id: UUID, undoes: UUID, moment: Moment) -> Outcome:
    """Take one entry back with a new one. A lead may take back anybody's, a helper their own."""
    lock(build)
    says = fingerprint([Kind.UNDO, undoes, actor and actor.pk])
    if (entry := _already(build, entry_id, says)) is not None:
        return Outcome(entry, had_it=True)
    first = _undoable(build, actor, undoes)
    stage, segment = Stage(first.stage), first.segment
    if first.pixels > 0 and (reason := why_not_back(segment.standing, stage, first.pixels)):
        raise Refused(Problem(reason, "undoes"))
    if first.pixels < 0:
        _check_order(build, segment, stage, -first.pixels)
    return Outcome(
        _append(
            build, actor, segment, stage, -first.pixels, Kind.UNDO, entry_id, says, moment, undoes=first,
            stint=first.stint,
        )
    )  # fmt: skip


@transaction.atomic
def reopen(
    *, build: Build, actor: Person | None, entry_ids: dict[Stage, UUID], segment_code: str, stage: Stage, pixels: int,
    moment: Moment, note: str = "",
) -> list[LedgerEntry]:  # fmt: skip
    """Let pixels count as not yet passed from ``stage`` on: from every stage that follows as well where they have.

    ``entry_ids`` has an id for each stage that may be concerned. Returns the entries, last stage first.
    """
    lock(build)
    segment = current_segment(build, segment_code)
    back = _to_take_back(segment, stage, pixels)
    if not back.get(stage):
        raise Refused(Problem(f"No pixel of {segment_code} is {stage.done}: nothing to reopen.", "pixels"))
    entries = []
    for each, number in back.items():
        says = fingerprint([Kind.REOPEN, segment_code, each, -number, actor and actor.pk])
        entry = _already(build, entry_ids[each], says) or _append(
            build, actor, segment, each, -number, Kind.REOPEN, entry_ids[each], says, moment, note=note
        )
        entries.append(entry)
    return entries


def _to_take_back(segment: Segment, stage: Stage, pixels: int) -> dict[Stage, int]:
    """How many pixels each stage loses, last stage first, when ``pixels`` are reopened from ``stage``."""
    standing = segment.standing
    if not 0 < pixels <= standing.count(stage):
        raise Refused(
            Problem(f"Found {pixels} pixels: {segment.code} has {standing.count(stage)} {stage.done}.", "pixels")
        )
    order = order_of(segment.closing)
    floor = standing.count(stage) - pixels
    later = order[order.index(stage) :]
    return {each: standing.count(each) - floor for each in reversed(later) if standing.count(each) > floor}


def current_segment(build: Build, code: str) -> Segment:
    """The segment of the plan in force with this code; refused when there is none."""
    segment = _current_segment(build_id=build.pk, code=code.strip().upper())
    if segment is None:
        raise Refused(
            Problem(f"The plan has no segment {code!r}: codes look like R12-3 (ring 12, third piece).", "segment")
        )
    segment.build = build
    return segment


def _already(build: Build, entry_id: UUID, says: str) -> LedgerEntry | None:
    entry = _entry(id=entry_id)
    if entry is None:
        return None
    if entry.build_id != build.pk or entry.fingerprint != says:
        raise Refused(Problem("This id stands there already with other content: the first one counts.", "id"))
    return entry


def _check_order(build: Build, segment: Segment, stage: Stage, pixels: int) -> None:
    links = segment.links() if stage is Stage.TEST else []
    closing_up = segment.closing and stage is Stage.MOUNT
    close_in = CloseIn.objects.state_of(build) if closing_up else None
    if reason := why_not(segment.standing, stage, pixels, links, close_in):
        raise Refused(Problem(reason, "pixels"))


def _undoable(build: Build, actor: Person | None, undoes: UUID) -> LedgerEntry:
    first = build.entries.filter(pk=undoes).select_related("segment", "stint").first()
    if first is None:
        raise Refused(Problem("The entry to undo is not in the ledger of this build.", "undoes"))
    if first.kind == Kind.UNDO or hasattr(first, "undone_by"):
        raise Refused(Problem("This entry has been undone already.", "undoes"))
    if actor is not None and not actor.is_lead and not _credited(first, actor):
        raise Refused(Problem("This is somebody else's tick: they or the lead can undo it.", "undoes"))
    if first.segment.retired_at is not None:
        raise Refused(Problem(f"The plan no longer has {first.segment.code}: the lead decides what counts.", "undoes"))
    return first


def _credited(entry: LedgerEntry, person: Person) -> bool:
    if entry.actor_id == person.pk:
        return True
    return entry.stint is not None and entry.stint.members.filter(person=person).exists()


def _append(
    build: Build, actor: Person | None, segment: Segment, stage: Stage, pixels: int, kind: Kind, entry_id: UUID,
    says: str, moment: Moment, *, stint: Stint | None = None, undoes: LedgerEntry | None = None, note: str = "",
) -> LedgerEntry:  # fmt: skip
    _add[stage](id=segment.pk, pixels=pixels)
    return _append_entry(
        LedgerEntry(
            id=entry_id, build=build, segment=segment, stage=stage, pixels=pixels, kind=kind, undoes=undoes,
            actor=actor, stint=stint, at=moment.at, made_at=moment.made_at, arrived_at=moment.arrived_at,
            note=note[:200], fingerprint=says,
        )
    )  # fmt: skip
