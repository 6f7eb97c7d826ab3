"""What an entry from a device does, through the same acts as everything else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import singledispatch
from uuid import UUID

from django.db import transaction

from buildlog.actions import notes, room, stints, ticks
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work import deeds
from buildlog.core.work.deeds import DeviceEntryKind
from buildlog.core.work.room import AT_ONCE
from buildlog.core.work.stints import Spell
from buildlog.models import Arrival, Build, Device, Person, Stint, prepared_sql

SKEW = timedelta(minutes=2)  # times of one device's entries may differ by this much with the delay of the network


@dataclass(frozen=True, slots=True)
class Maker:
    """Who does it, on which build and device, under which id, when; on the open page of the ledger, if one is.

    ``device`` is None for a lead whose browser has not joined.
    """

    build: Build
    person: Person
    device: Device | None
    entry_id: UUID
    kind: DeviceEntryKind
    moment: ticks.Moment
    page: ticks.Page | None = None


@singledispatch
def perform(deed: deeds.DeviceEntry, maker: Maker) -> None:
    """Do what the entry says, whole or not at all, in the transaction of the page if there is one.

    Raises Refused when the rules do not allow it.
    """
    raise TypeError(f"{deed!r} is no deed")


@perform.register
def _tick(deed: deeds.TickEntry, maker: Maker) -> None:
    ticks.tick(
        build=maker.build, actor=maker.person, entry_id=maker.entry_id, segment_code=deed.segment, stage=deed.stage,
        pixels=deed.pixels, moment=maker.moment, stint=_stint_of_member(maker, deed.stint), page=maker.page,
    )  # fmt: skip


@perform.register
def _undo(deed: deeds.Undo, maker: Maker) -> None:
    ticks.undo(
        build=maker.build, actor=maker.person, entry_id=maker.entry_id, undoes=deed.undoes, moment=maker.moment,
        page=maker.page,
    )  # fmt: skip


@perform.register
def _leave_note(deed: deeds.NoteLeft, maker: Maker) -> None:
    notes.leave(
        build=maker.build, by=maker.person, note_id=maker.entry_id, segment_code=deed.segment, says=deed.says,
        at=maker.moment.at,
    )  # fmt: skip


@perform.register
@transaction.atomic
def _start_stint(deed: deeds.StintStart, maker: Maker) -> None:
    people = [maker.person, *_companions(maker, deed.companions)]
    stints.close_forgotten(build=maker.build, now=maker.moment.at)
    at = _after_the_last(people, maker.moment.at)
    if deed.stage is not None:
        room.keep_limit(maker.build, deed.stage, people, deed.stint, maker.moment)
    stint = stints.start(
        build=maker.build, stint_id=deed.stint, people=people, work=_work(maker.build, deed), at=at,
        late=maker.moment.arrived_at - maker.moment.at > AT_ONCE,
    )  # fmt: skip
    if maker.person not in stint.people.all():
        raise Refused(Problem(_("This stint belongs to somebody else: begin one of your own."), "stint"))


@perform.register
@transaction.atomic
def _mark_stint(deed: deeds.StintMark, maker: Maker) -> None:
    stint = _own_stint(maker, deed.stint)
    MARKS[maker.kind](stint, maker)


@perform.register
def _correct_stint(deed: deeds.StintCorrect, maker: Maker) -> None:
    stint = _own_stint(maker, deed.stint)
    spell = _spell(deed, maker.build, maker.moment.arrived_at)
    stints.correct(stint=stint, spell=spell, by=maker.person, at=maker.moment.at)


def refuse_correction(deed: deeds.StintCorrect, stint: Stint, now: datetime) -> None:
    """Raise Refused for times that cannot be, without putting anything right."""
    spell = _spell(deed, stint.build, now)
    if problem := stints.impossible(list(stint.people.all()), spell, besides=stint):
        raise Refused(problem)


def _spell(deed: deeds.StintCorrect, build: Build, now: datetime) -> Spell:
    spell = Spell(deed.start.instant(build.zone, "start"), deed.end.instant(build.zone, "end"), deed.rest)
    if spell.end > now + SKEW:
        raise Refused(Problem(_("The stint would end in the future: give an end that has passed."), "end"))
    return spell


def _pause(stint: Stint, maker: Maker) -> None:
    stints.pause(stint=stint, at=maker.moment.at)


def _resume(stint: Stint, maker: Maker) -> None:
    stints.resume(stint=stint, at=maker.moment.at)


def _stop(stint: Stint, maker: Maker) -> None:
    # The clock may say that it ended before it began (it was set back meanwhile): asked about, not lost.
    stint = stints.stop(stint=stint, at=max(maker.moment.at, stint.started_at))
    if stint.state == Stint.State.CLOSED and (doubt := _clocks_differ(stint, maker)):
        stint.state, stint.doubt = Stint.State.TO_CONFIRM, doubt
        stint.save(update_fields=["state", "doubt"])


def _clocks_differ(stint: Stint, maker: Maker) -> str | None:
    """When one tablet began and ended it, both clocks saw it last; one of them was set if they do not agree."""
    begun = Arrival.objects.filter(
        device=maker.device, kind=DeviceEntryKind.STINT_START, body__stint=str(stint.pk)
    ).first()
    if begun is None or stint.ended_at is None:
        return None
    ours, theirs = stint.ended_at - stint.started_at, maker.moment.made_at - begun.made_at
    if abs(ours - theirs) <= SKEW:
        return None
    return (
        f"The server's clock saw it last {_hours(ours)}, the tablet's {_hours(theirs)}: "
        "one of them was set meanwhile. When did it end?"
    )


def _hours(length: timedelta) -> str:
    return f"{length.total_seconds() / 3600:.1f} h"


MARKS: dict[DeviceEntryKind, Callable[[Stint, Maker], None]] = {
    DeviceEntryKind.STINT_PAUSE: _pause,
    DeviceEntryKind.STINT_RESUME: _resume,
    DeviceEntryKind.STINT_STOP: _stop,
}


def _stint_of_member(maker: Maker, stint_id: UUID | None) -> Stint | None:
    """The stint that gets the credit; when its start was refused, or it is another's, the helper who ticks gets it."""
    if stint_id is None or prepared_sql.stint_member(stint_id=stint_id, person_id=maker.person.pk) is None:
        return None
    return prepared_sql.stint(id=stint_id)


def _own_stint(maker: Maker, stint_id: UUID) -> Stint:
    stint = maker.build.stints.filter(pk=stint_id).first()
    if stint is None:
        raise Refused(Problem(_("This stint is not on file: its start was refused or never arrived."), "stint"))
    if not maker.person.is_lead and maker.person not in stint.people.all():
        raise Refused(Problem(_("This is somebody else's stint: they or the lead can change it."), "stint"))
    return stint


def _companions(maker: Maker, numbers: tuple[int, ...]) -> list[Person]:
    # Compared here, not in the database: a number may be longer than the database can read.
    people = {person.pk: person for person in maker.build.people.all() if person.pk in numbers}
    if unknown := set(numbers) - set(people):
        raise Refused(
            Problem(
                _("The crew of this build has nobody with number {number}: reload the page."),
                "with",
                number=min(unknown),
            )
        )
    return [people[number] for number in numbers if number != maker.person.pk]


def _after_the_last(people: list[Person], at: datetime) -> datetime:
    """A start is not before the stop that the same helper made just before it, only because it travelled faster."""
    last = Stint.objects.filter(people__in=people, ended_at__gt=at, ended_at__lte=at + SKEW).order_by("-ended_at")
    stint = last.exclude(state=Stint.State.TO_CONFIRM).first()
    return stint.ended_at or at if stint else at


def _work(build: Build, deed: deeds.StintStart) -> stints.Work:
    segment = ticks.current_segment(build, deed.segment) if deed.segment else None
    if deed.stage is not None:
        return stints.Work(stage=deed.stage, segment=segment)
    job = build.jobs.filter(name=deed.job).first()
    if job is None:
        raise Refused(Problem(_("There is no job {job!r} on this build: reload the page."), "job", job=deed.job))
    return stints.Work(job=job, segment=segment)
