"""Ticking: what the ledger takes, each time with the segment's sums in the same transaction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection, transaction

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.ledger import LedgerKind, fingerprint
from buildlog.core.work.order import why_not, why_not_back
from buildlog.core.work.stages import Stage, order_of
from buildlog.models import Build, CloseIn, LedgerEntry, Person, Segment, Stint, prepared_sql


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
class TickOutcome:
    """The entry as it stands in the ledger, and whether it was there before."""

    entry: LedgerEntry
    had_it: bool = False


def lock(build: Build) -> None:
    """Queue behind everyone who writes to this build's ledger.

    The rules look beyond one segment (the chain before it, the way in), so one row for the whole build is held. The
    key itself is not, or rows that only point at the build would have to wait as well. SQLite has no such lock and
    needs none: a transaction that will write keeps all other writers out from its first statement.
    """
    if connection.vendor != "sqlite":
        prepared_sql.hold_build(build.pk)


class Page:
    """The open page of a build's ledger, in one transaction behind the lock.

    Acts on it find out all that may refuse them before they enter anything. What they enter counts for those that
    follow at once, and goes to the tables together: at the end, or before something else is to read it there.
    """

    def __init__(self, build: Build, coming: Sequence[UUID]) -> None:
        """``coming``: the ids of what is going to be entered, looked up at once."""
        self.build = build
        self._absent, self._known = set(coming), prepared_sql.entries(coming)
        self._segments: dict[int, Segment] = {}
        self._new: list[LedgerEntry] = []

    def entry(self, entry_id: UUID) -> LedgerEntry | None:
        """From any build: ids are unique over all of them."""
        if entry_id not in self._known and entry_id not in self._absent:
            self._known |= prepared_sql.entries([entry_id])
        return self._known.get(entry_id)

    def segment(self, code: str) -> Segment:
        """The segment of the plan in force with this code; refused when there is none."""
        known = (segment for segment in self._segments.values() if segment.code == code and segment.retired_at is None)
        return next(known, None) or self._keep(current_segment(self.build, code))

    def segment_of(self, entry: LedgerEntry) -> Segment:
        """Perhaps one that the plan no longer has."""
        kept = self._segments.get(entry.segment_id) or prepared_sql.segment(id=entry.segment_id)
        assert kept is not None, "the ledger keeps the segments that it speaks of: a foreign key sees to it"
        return self._keep(kept)

    def _keep(self, segment: Segment) -> Segment:
        segment.build = self.build
        return self._segments.setdefault(segment.pk, segment)

    def is_undone(self, entry: LedgerEntry) -> bool:
        return (
            any(new.undoes_id == entry.pk for new in self._new) or prepared_sql.undo_of(undoes_id=entry.pk) is not None
        )

    def enter(self, entry: LedgerEntry) -> LedgerEntry:
        segment = self._segments[entry.segment_id]
        done = Stage(entry.stage).done
        setattr(segment, done, getattr(segment, done) + entry.pixels)
        self._known[entry.pk] = entry
        self._new.append(entry)
        return entry

    def write(self) -> None:
        """Put what was entered into the tables, sums and entries."""
        sums: Counter[tuple[int, str]] = Counter()
        for entry in self._new:
            sums[entry.segment_id, entry.stage] += entry.pixels
        for (segment_id, stage), pixels in sums.items():
            prepared_sql.add_pixels(Stage(stage), segment_id, pixels)
        prepared_sql.append_entries(self._new)
        self._new.clear()


@contextmanager
def _turn(build: Build, page: Page | None, *coming: UUID) -> Iterator[Page]:
    """A page in a transaction behind the lock, unless the caller has all that."""
    if page is not None:
        yield page
        return
    with transaction.atomic():
        lock(build)
        page = Page(build, coming)
        yield page
        page.write()


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
    page: Page | None = None,
) -> TickOutcome:
    """Say that ``pixels`` more pixels of a segment have passed ``stage``.

    The helpers of ``stint`` get the credit, or the actor when there is none. Raises Refused with the sentence that
    says what is missing. ``page``: where the caller is entering several things.
    """
    says = fingerprint([LedgerKind.TICK, segment_code, stage, pixels, actor and actor.pk])
    with _turn(build, page, entry_id) as page:
        if (entry := _already(page, entry_id, says)) is not None:
            return TickOutcome(entry, had_it=True)
        segment = page.segment(segment_code.strip().upper())
        _check_order(page, segment, stage, pixels)
        return TickOutcome(
            _enter(page, actor, segment, stage, pixels, LedgerKind.TICK, entry_id, says, moment, stint=stint, note=note)
        )


def undo(
    *, build: Build, actor: Person | None, entry_id: UUID, undoes: UUID, moment: Moment, page: Page | None = None
) -> TickOutcome:
    """Take one entry back with a new one. A lead may take back anybody's, a helper their own.

    ``page``: where the caller is entering several things.
    """
    says = fingerprint([LedgerKind.UNDO, undoes, actor and actor.pk])
    with _turn(build, page, entry_id) as page:
        if (entry := _already(page, entry_id, says)) is not None:
            return TickOutcome(entry, had_it=True)
        first = _undoable(page, actor, undoes)
        stage, segment = Stage(first.stage), page.segment_of(first)
        if first.pixels > 0 and (reason := why_not_back(segment.standing, stage, first.pixels)):
            raise Refused(Problem(reason, "undoes"))
        if first.pixels < 0:
            _check_order(page, segment, stage, -first.pixels)
        return TickOutcome(
            _enter(
                page, actor, segment, stage, -first.pixels, LedgerKind.UNDO, entry_id, says, moment, undoes=first,
                stint=first.stint,
            )
        )  # fmt: skip


def reopen(
    *, build: Build, actor: Person | None, entry_ids: dict[Stage, UUID], segment_code: str, stage: Stage, pixels: int,
    moment: Moment, note: str = "",
) -> list[LedgerEntry]:  # fmt: skip
    """Let pixels count as not yet passed from ``stage`` on: from every stage that follows as well where they have.

    ``entry_ids`` has an id for each stage that may be concerned. Returns the entries, last stage first.
    """
    with _turn(build, None, *entry_ids.values()) as page:
        segment = page.segment(segment_code.strip().upper())
        back = _to_take_back(segment, stage, pixels)
        if not back.get(stage):
            raise Refused(
                Problem(
                    _("No pixel of {code} is {done}: nothing to reopen."),
                    "pixels",
                    code=segment_code,
                    done=stage.done,
                )
            )
        entries = []
        for each, number in back.items():
            says = fingerprint([LedgerKind.REOPEN, segment_code, each, -number, actor and actor.pk])
            entry = _already(page, entry_ids[each], says) or _enter(
                page, actor, segment, each, -number, LedgerKind.REOPEN, entry_ids[each], says, moment, note=note
            )
            entries.append(entry)
        return entries


def _to_take_back(segment: Segment, stage: Stage, pixels: int) -> dict[Stage, int]:
    """How many pixels each stage loses, last stage first, when ``pixels`` are reopened from ``stage``."""
    standing = segment.standing
    if not 0 < pixels <= standing.count(stage):
        raise Refused(
            Problem(
                _("Found {pixels} pixels: {code} has {passed} {done}."),
                "pixels",
                pixels=pixels,
                code=segment.code,
                passed=standing.count(stage),
                done=stage.done,
            )
        )
    order = order_of(segment.closing)
    floor = standing.count(stage) - pixels
    later = order[order.index(stage) :]
    return {each: standing.count(each) - floor for each in reversed(later) if standing.count(each) > floor}


def current_segment(build: Build, code: str) -> Segment:
    """The segment of the plan in force with this code; refused when there is none."""
    segment = prepared_sql.segment_in_force(build_id=build.pk, code=code.strip().upper())
    if segment is None:
        raise Refused(no_segment(code))
    segment.build = build
    return segment


def no_segment(code: str) -> Problem:
    return Problem(
        _("The plan has no segment {code!r}: codes look like R12-3 (ring 12, third piece)."), "segment", code=code
    )


def _already(page: Page, entry_id: UUID, says: str) -> LedgerEntry | None:
    entry = page.entry(entry_id)
    if entry is not None and (entry.build_id != page.build.pk or entry.fingerprint != says):
        raise Refused(Problem(_("This id stands there already with other content: the first one counts."), "id"))
    return entry


def _check_order(page: Page, segment: Segment, stage: Stage, pixels: int) -> None:
    closing_up = segment.closing and stage is Stage.MOUNT
    if closing_up or stage is Stage.TEST:
        page.write()  # these look at other segments
    links = segment.links() if stage is Stage.TEST else []
    close_in = CloseIn.objects.state_of(page.build) if closing_up else None
    if reason := why_not(segment.standing, stage, pixels, links, close_in):
        raise Refused(Problem(reason, "pixels"))


def _undoable(page: Page, actor: Person | None, undoes: UUID) -> LedgerEntry:
    first = page.entry(undoes)
    if first is None or first.build_id != page.build.pk:
        raise Refused(Problem(_("The entry to undo is not in the ledger of this build."), "undoes"))
    if first.kind == LedgerKind.UNDO or page.is_undone(first):
        raise Refused(Problem(_("This entry has been undone already."), "undoes"))
    if actor is not None and not actor.is_lead and not _credited(first, actor):
        raise Refused(Problem(_("This is somebody else's tick: they or the lead can undo it."), "undoes"))
    if (segment := page.segment_of(first)).retired_at is not None:
        raise Refused(
            Problem(_("The plan no longer has {code}: the lead decides what counts."), "undoes", code=segment.code)
        )
    return first


def _credited(entry: LedgerEntry, person: Person) -> bool:
    if entry.actor_id == person.pk:
        return True
    return entry.stint is not None and entry.stint.members.filter(person=person).exists()


def _enter(
    page: Page, actor: Person | None, segment: Segment, stage: Stage, pixels: int, kind: LedgerKind, entry_id: UUID,
    says: str, moment: Moment, *, stint: Stint | None = None, undoes: LedgerEntry | None = None, note: str = "",
) -> LedgerEntry:  # fmt: skip
    return page.enter(
        LedgerEntry(
            id=entry_id, build=page.build, segment=segment, stage=stage, pixels=pixels, kind=kind, undoes=undoes,
            actor=actor, stint=stint, at=moment.at, made_at=moment.made_at, arrived_at=moment.arrived_at,
            note=note[:200], fingerprint=says,
        )
    )  # fmt: skip
