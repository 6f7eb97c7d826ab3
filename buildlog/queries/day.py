"""One person's day: stints, ticks, hours, and what their hands have done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from django.db.models import Q

from buildlog.core.work.handload import HandLoad
from buildlog.core.work.ledger import LedgerKind
from buildlog.core.work.stages import Stage
from buildlog.core.work.stints import forgotten
from buildlog.models import Build, LedgerEntry, Person, Stint

HISTORY = 40
UNDO_AT_HAND = timedelta(minutes=1)
ASK_FOR = timedelta(days=30)  # a doubtful stint is asked about for this long
HOUR = 3600.0


@dataclass(frozen=True)
class Running:
    """A stint that runs, and how long it has been worked."""

    stint: Stint
    now: datetime

    @property
    def people(self) -> list[Person]:
        return list(self.stint.people.all())

    @property
    def stage(self) -> Stage | None:
        return Stage(self.stint.stage) if self.stint.stage else None

    @property
    def paused(self) -> bool:
        return self.stint.paused_at is not None

    @property
    def worked_h(self) -> float:
        """Hours of each helper so far, breaks left out [h]."""
        return _worked_h(self.stint, self.stint.started_at, self.now)


@dataclass(frozen=True)
class DoubtedStint:
    """A stint that waits for somebody to say when it ended, and why it is doubted."""

    stint: Stint
    doubt: str


@dataclass(frozen=True)
class PersonDay:
    """What somebody did today and what still has to be asked; ``ticks`` are the last ones, whatever the day."""

    build: Build
    person: Person
    now: datetime
    stints: tuple[Stint, ...]
    ticks: tuple[LedgerEntry, ...]

    @cached_property
    def midnight(self) -> datetime:
        """When the day began in the build's own zone."""
        return self.now.astimezone(self.build.zone).replace(hour=0, minute=0, second=0, microsecond=0)

    @cached_property
    def running(self) -> Running | None:
        """The stint that runs; one that looks forgotten is asked about instead."""
        running = next((stint for stint in self.stints if stint.state == Stint.State.RUNNING), None)
        return Running(running, self.now) if running and not self._doubt(running) else None

    @property
    def asked(self) -> tuple[DoubtedStint, ...]:
        return tuple(DoubtedStint(stint, doubt) for stint in self.stints if (doubt := self._doubt(stint)))

    def _doubt(self, stint: Stint) -> str | None:
        if stint.state != Stint.State.RUNNING:
            return stint.doubt
        last = next((entry.at for entry in self.ticks if entry.stint_id == stint.pk), None)
        return forgotten(stint.started_at, self.now, self.build.zone, last)

    @property
    def history(self) -> tuple[LedgerEntry, ...]:
        """Ticks of today, the last one first."""
        return tuple(entry for entry in self.ticks if entry.at >= self.midnight)

    @property
    def undo_at_hand(self) -> LedgerEntry | None:
        """The last tick, for as long as a slip is noticed at once."""
        last = next((entry for entry in self.ticks if not hasattr(entry, "undone_by")), None)
        return last if last and self.now - last.at <= UNDO_AT_HAND else None

    @property
    def last_piece(self) -> str | None:
        """The piece last worked on: of the running stint if there is one."""
        stint = self.running.stint if self.running else None
        if stint and (not self.ticks or self.ticks[0].at < stint.started_at) and stint.segment:
            return stint.segment.code
        return self.ticks[0].segment.code if self.ticks else None

    @property
    def hours(self) -> float:
        """Hours worked today, the running stint included [h]."""
        return sum(hours for _, hours in self._spells())

    @property
    def hands(self) -> HandLoad:
        run = self.running if self.running and self.running.stage is Stage.POPULATE else None
        return HandLoad(
            today_h=sum(hours for stint, hours in self._spells() if stint.stage == Stage.POPULATE),
            limit_h=self.person.populate_limit_h,
            unbroken_h=run.worked_h if run else 0.0,
            rest_h=run.stint.rest_s / HOUR if run else 0.0,
            rest_min=self.build.rest_min,
        )

    def _spells(self) -> Iterator[tuple[Stint, float]]:
        for stint in self.stints:
            if not self._doubt(stint):
                yield stint, _worked_h(stint, max(stint.started_at, self.midnight), self.now)


def _worked_h(stint: Stint, begin: datetime, now: datetime) -> float:
    """Hours from ``begin`` to the stint's end, or its pause, or now; its break is taken off."""
    until = stint.ended_at or stint.paused_at or now
    return max(0.0, (until.timestamp() - begin.timestamp() - stint.rest_s) / HOUR)


def day_of(build: Build, person: Person, now: datetime) -> PersonDay:
    """One person's day (three queries: stints, their people, ticks)."""
    midnight = now.astimezone(build.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    today = Q(state=Stint.State.RUNNING) | Q(ended_at__gt=midnight)
    in_doubt = Q(state=Stint.State.TO_CONFIRM, started_at__gt=now - ASK_FOR)
    stints = build.stints.filter(today | in_doubt, people=person).select_related("job", "segment")
    mine = Q(actor=person) | Q(stint__members__person=person)
    ticks = build.entries.filter(mine, kind=LedgerKind.TICK).select_related("segment", "undone_by").distinct()
    return PersonDay(
        build,
        person,
        now,
        tuple(stints.prefetch_related("people").distinct()),
        tuple(ticks.order_by("-at", "-arrived_at")[:HISTORY]),
    )
