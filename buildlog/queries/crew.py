"""The Crew screen: who is there, what they can do, when they come, what they have and what they did."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Q, QuerySet

from buildlog.models import Build, Person, Shift, StintMember, WeeklyPattern

DAYS_AHEAD = 14


@dataclass(frozen=True)
class Stretch:
    """Somebody will be there: start and end (aware, the build's own zone)."""

    start: datetime
    end: datetime
    weekly: bool = False

    @property
    def hours(self) -> float:
        """[h], taken in UTC by way of timestamps so that a clock change is counted."""
        return (self.end.timestamp() - self.start.timestamp()) / 3600


@dataclass(frozen=True)
class Member:
    """One of the crew, with the coming days in the order of ``CrewPage.days``."""

    person: Person
    hours_done: float
    segments: int
    coming: tuple[tuple[Stretch, ...], ...]

    @property
    def next_start(self) -> datetime | None:
        return next((stretches[0].start for stretches in self.coming if stretches), None)

    @property
    def hours_a_day(self) -> tuple[float, ...]:
        return tuple(sum(stretch.hours for stretch in stretches) for stretches in self.coming)

    @property
    def hours_coming(self) -> float:
        return sum(self.hours_a_day)


@dataclass(frozen=True)
class CrewPage:
    members: tuple[Member, ...]
    gone: tuple[Person, ...]
    days: tuple[date, ...]

    @property
    def helpers(self) -> int:
        return sum(member.person.role == Person.Role.HELPER for member in self.members)

    @property
    def hours_a_day(self) -> tuple[float, ...]:
        """Person-hours promised on each of the coming days."""
        by_member = (member.hours_a_day for member in self.members if member.person.role != Person.Role.VIEWER)
        return tuple(map(sum, zip(*by_member, strict=True))) or tuple(0.0 for _ in self.days)

    @property
    def hours_coming(self) -> float:
        return sum(self.hours_a_day)


def crew_page(build: Build, now: datetime) -> CrewPage:
    """The crew as it stands (people, hours, shifts, patterns: four queries)."""
    today = now.astimezone(build.zone).date()
    days = tuple(today + timedelta(days=number) for number in range(DAYS_AHEAD))
    open_segments = Count("segments", filter=Q(segments__retired_at__isnull=True))
    everybody: QuerySet[Person] = build.people.order_by("role", "name")
    people = list(everybody.annotate(holds=open_segments))
    done, coming = hours_done(build), stretches(build, days)
    members = tuple(
        Member(person, done[person.pk], person.holds, tuple(tuple(coming[person.pk, day]) for day in days))
        for person in sorted(people, key=lambda person: (_RANK[person.role], person.name.casefold()))
        if person.left_at is None
    )
    return CrewPage(members, tuple(person for person in people if person.left_at), days)


_RANK: dict[str, int] = {Person.Role.LEAD: 0, Person.Role.HELPER: 1, Person.Role.VIEWER: 2}


def hours_done(build: Build) -> dict[int, float]:
    """Hours of every person in stints that count [h] (one query)."""
    hours: dict[int, float] = defaultdict(float)
    members = StintMember.objects.filter(stint__build=build, stint__state="closed").select_related("stint")
    for member in members:
        hours[member.person_id] += member.stint.hours
    return hours


def stretches(build: Build, days: Iterable[date]) -> dict[tuple[int, date], list[Stretch]]:
    """Who comes when on these days: dated shifts, and weekly ones where no dated one says otherwise (two queries)."""
    days = tuple(days)
    stretches: dict[tuple[int, date], list[Stretch]] = defaultdict(list)
    begin = datetime.combine(days[0], datetime.min.time(), build.zone)
    until = datetime.combine(days[-1] + timedelta(days=1), datetime.min.time(), build.zone)
    for shift in Shift.objects.filter(person__build=build, starts_at__gte=begin, starts_at__lt=until):
        start, end = shift.starts_at.astimezone(build.zone), shift.ends_at.astimezone(build.zone)
        stretches[shift.person_id, start.date()].append(Stretch(start, end))
    weekly: dict[tuple[int, date], list[Stretch]] = defaultdict(list)
    for pattern in WeeklyPattern.objects.filter(person__build=build):
        for day in _days_of(pattern, days):
            stretch = Stretch(*pattern.spell_on(day, build.zone), weekly=True)
            if stretch.end > stretch.start:
                weekly[pattern.person_id, day].append(stretch)
    for key, patterns in weekly.items():
        if key not in stretches:
            stretches[key] = sorted(patterns, key=lambda stretch: stretch.start)
    return stretches


def _days_of(pattern: WeeklyPattern, days: tuple[date, ...]) -> Iterator[date]:
    for day in days:
        begun, over = day >= pattern.first_day, pattern.last_day is not None and day > pattern.last_day
        if day.weekday() == pattern.weekday and begun and not over:
            yield day
