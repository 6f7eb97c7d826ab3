"""The crew: people who come, change and leave, and when they can be there."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from buildlog.actions import sign_ins
from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build, Person, Shift, WeeklyPattern


@transaction.atomic
def make_lead(*, build: Build, user: User) -> Person:
    """Let this account lead the build, under its own name if nobody else has that one. Brings back nobody who left."""
    person = build.people.filter(user=user).first()
    if person is None:
        name = user.get_full_name() or user.username
        person = build.people.active().filter(name=name, role=Person.Role.LEAD, user=None).first()
        if person is None:
            taken = build.people.filter(name=name).exists()
            person = Person(build=build, name=f"{name} (lead)" if taken else name)
    person.user, person.role = user, Person.Role.LEAD
    person.initials = person.initials or initials_of(person.name)
    person.save()
    return person


@transaction.atomic
def put(
    *, build: Build, name: str, by: Person | None, now: datetime, initials: str = "", skills: Sequence[str] = (),
    populate_limit_h: float = 3, role: str = Person.Role.HELPER, person: Person | None = None,
) -> Person:  # fmt: skip
    """Take somebody into the crew, or change what is entered of them (``person``, or whoever has the name).

    The segments of somebody who only looks on from now on are free again. Who left stays away: `come_back` is an act
    of its own.
    """
    name = name.strip()
    if not name:
        raise Refused(Problem(_("Everybody needs a name: it is what helpers tap to sign in."), "name"))
    person = person or build.people.active().filter(name=name).first() or Person(build=build)
    refuse_taken(build=build, name=name, person=person)
    known = person.pk is not None
    if known and person.is_lead and role != Person.Role.LEAD:
        _refuse_last_lead(person)
    person.name, person.role, person.skills = name, role, list(skills)
    person.initials = initials.strip() or initials_of(name)
    person.populate_limit_h = populate_limit_h
    person.save()
    if role == Person.Role.VIEWER:
        person.segments.update(assigned_to=None)
    says = f"{name} {'changed' if known else 'joined the crew'} ({role})."
    record(build=build, by=by, at=now, verb="change person" if known else "add person", says=says)
    return person


@transaction.atomic
def leave(*, person: Person, by: Person | None, now: datetime) -> Person:
    """Somebody leaves the crew: what they did stays, their segments are free again, their sign-ins end. Twice changes
    nothing.
    """
    if person.left_at is not None:
        return person
    _refuse_last_lead(person)
    person.segments.update(assigned_to=None)
    person.left_at, person.pin, person.pin_version = now, "", person.pin_version + 1
    person.save(update_fields=["left_at", "pin", "pin_version"])
    sign_ins.end(which=person.sign_ins.all(), now=now)
    record(build=person.build, by=by, at=now, verb="person leaves", says=f"{person} left the crew.")
    return person


def refuse_taken(*, build: Build, name: str, person: Person | None = None) -> None:
    """Raise Refused for a name that somebody else has, written in the same way or with other capitals."""
    alike = build.people.filter(name__iexact=name.strip()).exclude(pk=person.pk if person else 0).first()
    if alike is not None and alike.left_at is not None:
        says = _("{name} has left the crew: restore them on Crew, or add a letter if this is another person.")
        raise Refused(Problem(says, "name", name=alike))
    if alike is not None:
        raise Refused(Problem(_("{name} is in the crew already: add a letter to tell them apart."), "name", name=alike))


def _refuse_last_lead(person: Person) -> None:
    leads = person.build.people.active().filter(role=Person.Role.LEAD, user__isnull=False)
    if person.user_id is not None and not leads.exclude(pk=person.pk).exists():
        raise Refused(
            Problem(
                _("{person} is the only lead: give the build another lead with an account first."),
                "role",
                person=person,
            )
        )


@transaction.atomic
def come_back(*, person: Person, by: Person | None, now: datetime) -> Person:
    """Somebody who left is there again (a new PIN has to be issued). Twice changes nothing."""
    if person.left_at is None:
        return person
    person.left_at = None
    person.save(update_fields=["left_at"])
    record(build=person.build, by=by, at=now, verb="person returns", says=f"{person} is back in the crew.")
    return person


@transaction.atomic
def promise(*, person: Person, starts_at: datetime, ends_at: datetime) -> tuple[Shift, bool]:
    """Somebody will be there from…until (UTC). The same stretch again changes nothing. Returns (shift, was new)."""
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    if ends_at <= starts_at:
        raise Refused(Problem(_("The shift ends before it starts: give an end after the start."), "end"))
    clash = person.shifts.filter(starts_at__lt=ends_at, ends_at__gt=starts_at).first()
    if clash is None:
        return person.shifts.create(starts_at=starts_at, ends_at=ends_at), True
    if (clash.starts_at, clash.ends_at) == (starts_at, ends_at):
        return clash, False
    zone = person.build.zone
    span = f"{clash.starts_at.astimezone(zone):%a %Y-%m-%d %H:%M}–{clash.ends_at.astimezone(zone):%H:%M}"
    raise Refused(
        Problem(
            _("{person} is down for {span} already: change that shift or choose other hours."),
            "start",
            person=person,
            span=span,
        )
    )


@transaction.atomic
def withdraw(*, shift: Shift) -> None:
    """Somebody will not be there after all."""
    shift.delete()


@transaction.atomic
def promise_weekly(*, pattern: WeeklyPattern) -> WeeklyPattern:
    """Somebody comes every week; the same weekday and start replaces what was said before."""
    same = pattern.person.patterns.filter(weekday=pattern.weekday, from_time=pattern.from_time).first()
    if same is not None:
        pattern.pk = same.pk
    pattern.save()
    return pattern


def initials_of(name: str) -> str:
    """The first letters of the first two words, or the first two letters of one.

    >>> initials_of("Ada Lind"), initials_of("Bo"), initials_of("<i>Una"), initials_of("!")
    ('AL', 'BO', 'IU', '!')
    """
    words = "".join(letter if letter.isalnum() else " " for letter in name).split() or [name]
    letters = words[0][0] + words[1][0] if len(words) > 1 else words[0][:2]
    return letters.upper()
