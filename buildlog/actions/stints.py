"""Stints: begun, paused, ended, entered afterwards, put right, confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction

from buildlog.actions.records import record
from buildlog.actions.ticks import lock
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.stages import Stage
from buildlog.core.work.stints import LONGEST, Spell, doubtful, forgotten
from buildlog.models import Build, Job, Person, Segment, Stint, StintMember


@dataclass(frozen=True, slots=True)
class Work:
    """What a stint is on: a stage (of a segment, perhaps) or a job."""

    stage: Stage | None = None
    job: Job | None = None
    segment: Segment | None = None

    @property
    def name(self) -> str:
        return self.stage.value if self.stage else self.job.name if self.job else ""


@transaction.atomic
def start(
    *, build: Build, stint_id: UUID, people: Sequence[Person], work: Work, at: datetime, late: bool = False
) -> Stint:
    """Begin a stint for everybody named. Who runs another one already is refused; the same id again changes nothing.

    ``late``: it comes from where no network was. When one of these people began another stint after it, it cannot be
    running any more: it is kept with that as its end, to be confirmed, until its own end arrives.
    """
    lock(build)
    if (stint := _known(build, stint_id)) is not None:
        return stint
    _refuse_strangers(build, people)
    if late and (after := _next_begun(people, at)) is not None:
        return _create_over(build, stint_id, people, work, at, after)
    _refuse_running(people)
    _refuse_overlap(people, at, None)
    return _create(build, stint_id, people, work, at, None)


@transaction.atomic
def stop(*, stint: Stint, at: datetime, note: str = "") -> Stint:
    """End a running stint; one that looks forgotten waits for somebody's word. Ending it again changes nothing, but
    an end that was only guessed gives way to an earlier one that somebody gave.
    """
    stint = _locked(stint)
    if at < stint.started_at:
        raise Refused(Problem(_("The stint ends before it starts: give an end after the start."), "end"))
    if not _went_on(stint, at):
        return stint
    if stint.paused_at is not None:
        stint.rest_s += _seconds(at - stint.paused_at)
        stint.paused_at = None
    stint.note = note[:200] or stint.note
    return _close(stint, at)


@transaction.atomic
def pause(*, stint: Stint, at: datetime) -> Stint:
    """Stop counting for a break; pausing twice changes nothing."""
    stint = _locked(stint)
    if _went_on(stint, at) and stint.paused_at is None:
        stint.paused_at = max(at, stint.started_at)
        stint.save(update_fields=["paused_at"])
    return stint


@transaction.atomic
def resume(*, stint: Stint, at: datetime) -> Stint:
    """Go on after a break; what the break took is left out of the hours."""
    stint = _locked(stint)
    if _went_on(stint, at) and stint.paused_at is not None:
        stint.rest_s += _seconds(at - stint.paused_at)
        stint.paused_at = None
        stint.save(update_fields=["rest_s", "paused_at"])
    return stint


@transaction.atomic
def log(
    *, build: Build, stint_id: UUID, people: Sequence[Person], work: Work, spell: Spell, note: str = "",
    ticked: bool = False,
) -> Stint:  # fmt: skip
    """Enter a stint that is over. Refused when it is impossible or shares time with another of the same people.

    ``ticked`` says that pixels were ticked at its end, so that work through midnight is believed.
    """
    lock(build)
    if (stint := _known(build, stint_id)) is not None:
        return stint
    _refuse_strangers(build, people)
    if problem := impossible(people, spell):
        raise Refused(problem)
    stint = _create(build, stint_id, people, work, spell.start, spell, note=note)
    return _close(stint, spell.end, ticked)


def _known(build: Build, stint_id: UUID) -> Stint | None:
    """The stint with this id, None when there is none. Raises Refused when it is another build's."""
    stint = Stint.objects.filter(pk=stint_id).first()
    if stint is not None and stint.build_id != build.pk:
        raise Refused(Problem(_("This id already belongs to another stint. Reload the page.")))
    return stint


def impossible(people: Sequence[Person], spell: Spell, besides: Stint | None = None) -> Problem | None:
    """Why these people cannot have worked then, or None: the times alone, or another stint of theirs."""
    return spell.problem() or _overlap(people, spell.start, spell.end, besides)


@transaction.atomic
def correct(*, stint: Stint, spell: Spell, by: Person, at: datetime) -> Stint:
    """Put a stint's times right; the old ones stay on record. It counts from now on."""
    stint = _locked(stint)
    people = list(stint.people.all())
    if problem := impossible(people, spell, besides=stint):
        raise Refused(problem)
    old = _times(stint)
    stint.started_at, stint.ended_at, stint.rest_s = spell.start, spell.end, _seconds(spell.rest)
    stint.paused_at, stint.state, stint.doubt = None, Stint.State.CLOSED, ""
    stint.save()
    stint.members.update(open=False)
    record(
        build=stint.build, by=by, at=at, verb="correct stint", says=f"{by} corrected a stint of {_names(people)}.",
        stint=str(stint.pk), old=old, new=_times(stint),
    )  # fmt: skip
    return stint


@transaction.atomic
def confirm(*, stint: Stint, by: Person, at: datetime) -> Stint:
    """Say that a doubtful stint was as it stands: it counts from now on."""
    stint = _locked(stint)
    if stint.state == Stint.State.TO_CONFIRM:
        people = list(stint.people.all())
        _refuse_overlap(people, stint.started_at, stint.ended_at, besides=stint)
        stint.state, stint.doubt = Stint.State.CLOSED, ""
        stint.save(update_fields=["state", "doubt"])
        says = f"{by} confirmed a stint of {_names(people)}."
        record(build=stint.build, by=by, at=at, verb="confirm stint", says=says, stint=str(stint.pk))
    return stint


@transaction.atomic
def close_forgotten(*, build: Build, now: datetime) -> int:
    """End running stints that nobody can still be working on, each to be confirmed. Returns how many."""
    lock(build)
    closed = 0
    for stint in build.stints.running().select_related("build"):
        last_tick = stint.entries.order_by("-at").values_list("at", flat=True).first()
        # Judged by how long it would run until now; closed earlier, it would no longer look forgotten.
        if doubt := forgotten(stint.started_at, now, build.zone, last_tick):
            _end(stint, min(now, stint.started_at + LONGEST), doubt)
            closed += 1
    return closed


def _locked(stint: Stint) -> Stint:
    """The stint as it stands now. Who writes stints or ticks of a build queues at one place: none waits in a ring."""
    lock(stint.build)
    return Stint.objects.select_related("build").get(pk=stint.pk)


def _went_on(stint: Stint, at: datetime) -> bool:
    """May it have gone on until then? A doubtful end is a guess, and what was said before it comes late but counts."""
    if stint.state == Stint.State.TO_CONFIRM:
        return stint.ended_at is not None and at < stint.ended_at
    return stint.state == Stint.State.RUNNING


def _next_begun(people: Sequence[Person], at: datetime) -> Stint | None:
    """The first stint that one of them began after that moment."""
    return Stint.objects.filter(people__in=people, started_at__gt=at).order_by("started_at").first()


def _create_over(
    build: Build, stint_id: UUID, people: Sequence[Person], work: Work, at: datetime, after: Stint
) -> Stint:
    """A stint that is over, and nobody has said when."""
    end = min(after.started_at, at + LONGEST)
    _refuse_overlap(people, at, end)
    begun = after.started_at.astimezone(build.zone)
    doubt = f"Its end has not arrived, and the next stint began on {begun:%a %Y-%m-%d at %H:%M}. When did it end?"
    return _end(_create(build, stint_id, people, work, at, Spell(at, end)), end, doubt)


def _refuse_strangers(build: Build, people: Sequence[Person]) -> None:
    if not people:
        raise Refused(Problem(_("A stint needs at least one helper."), "name"))
    for person in people:
        if person.build_id != build.pk or person.role == Person.Role.VIEWER or person.left_at is not None:
            raise Refused(
                Problem(_("{person} does not work on this build: choose one of its crew."), "name", person=person)
            )


def _refuse_running(people: Sequence[Person]) -> None:
    for member in StintMember.objects.filter(person__in=people, open=True).select_related("person", "stint__job"):
        raise Refused(
            Problem(
                _("{person} is in a running stint ({work}): stop that one first."),
                "name",
                person=member.person,
                work=member.stint.work,
            )
        )


def _refuse_overlap(
    people: Sequence[Person], start: datetime, end: datetime | None, besides: Stint | None = None
) -> None:
    if problem := _overlap(people, start, end, besides):
        raise Refused(problem)


def _overlap(
    people: Sequence[Person], start: datetime, end: datetime | None, besides: Stint | None = None
) -> Problem | None:
    # A doubtful stint claims no time: its end is a guess, and real work may lie behind it.
    clashes = Stint.objects.filter(people__in=people).exclude(state=Stint.State.TO_CONFIRM)
    clashes = clashes.exclude(ended_at__lte=start)
    clashes = clashes if end is None else clashes.filter(started_at__lt=end)
    clashes = clashes.exclude(pk=besides.pk) if besides else clashes
    clash = clashes.select_related("build", "job").first()
    if clash is None:
        return None
    name = next(p.name for p in clash.people.all() if p in people)
    return Problem(
        _("{name} has a stint there already: {when}. Change one of the two."), "start", name=name, when=_when(clash)
    )


def _when(stint: Stint) -> str:
    zone = stint.build.zone
    end = f"{stint.ended_at.astimezone(zone):%H:%M}" if stint.ended_at else "still running"
    return f"{stint.work}, {stint.started_at.astimezone(zone):%a %Y-%m-%d %H:%M}–{end}"


def _create(
    build: Build,
    stint_id: UUID,
    people: Sequence[Person],
    work: Work,
    at: datetime,
    spell: Spell | None,
    note: str = "",
) -> Stint:
    stint = Stint.objects.create(
        id=stint_id, build=build, stage=work.stage or "", job=work.job, segment=work.segment, started_at=at,
        rest_s=_seconds(spell.rest) if spell else 0, note=note[:200],
    )  # fmt: skip
    try:
        with transaction.atomic():
            StintMember.objects.bulk_create(StintMember(stint=stint, person=p, open=spell is None) for p in people)
    except IntegrityError as race:
        raise Refused(
            Problem(_("One of these helpers started another stint just now: stop that one first."), "name")
        ) from race
    return stint


def _close(stint: Stint, end: datetime, ticked: bool = False) -> Stint:
    doubt = doubtful(stint.started_at, end, stint.build.zone, ticked or _ticked_after_midnight(stint, end))
    if doubt is None and stint.state == Stint.State.TO_CONFIRM:  # it claimed no time until now
        clash = _overlap(list(stint.people.all()), stint.started_at, end, besides=stint)
        doubt = clash.what[:200] if clash else None
    return _end(stint, end, doubt)


def _end(stint: Stint, end: datetime, doubt: str | None) -> Stint:
    stint.ended_at = end
    stint.state = Stint.State.TO_CONFIRM if doubt else Stint.State.CLOSED
    stint.doubt = doubt or ""
    stint.save()
    stint.members.update(open=False)
    return stint


def _ticked_after_midnight(stint: Stint, end: datetime) -> bool:
    midnight = end.astimezone(stint.build.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    return stint.entries.filter(at__gte=midnight).exists()


def _seconds(length: timedelta) -> int:
    return max(0, round(length.total_seconds()))


def _times(stint: Stint) -> dict[str, str | int | None]:
    return {
        "started_at": stint.started_at.isoformat(),
        "ended_at": stint.ended_at.isoformat() if stint.ended_at else None,
        "rest_s": stint.rest_s,
    }


def _names(people: Sequence[Person]) -> str:
    return " and ".join(person.name for person in people)
