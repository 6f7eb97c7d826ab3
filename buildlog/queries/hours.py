"""The Hours screen: stints, what came of them, and hours by stage and by person."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from buildlog.core.work.stages import STAGES, Stage
from buildlog.models import Build, LedgerEntry, Person, Stint

PAGE = 50


@dataclass(frozen=True)
class HoursLine:
    """One stint: who, on what, and the pixels that passed its stage in it."""

    stint: Stint
    people: tuple[Person, ...]
    segments: tuple[str, ...]
    pixels: int

    @property
    def names(self) -> str:
        return " and ".join(person.name for person in self.people)

    @property
    def person_hours(self) -> float:
        return self.stint.hours * len(self.people)


@dataclass(frozen=True)
class Sum:
    """Hours under one heading, and for a stage what they gave."""

    name: str
    person_hours: float
    pixels: int = 0
    stage: Stage | None = None

    @property
    def pixels_an_hour(self) -> float | None:
        """Pixels per person-hour, rework and set-up time included; None where there is nothing to divide."""
        return self.pixels / self.person_hours if self.stage and self.person_hours and self.pixels else None


@dataclass(frozen=True)
class Choice:
    """Which stints to show."""

    person: int | None = None
    work: str = ""
    day: date | None = None


@dataclass(frozen=True)
class HoursPage:
    lines: tuple[HoursLine, ...]
    stages: tuple[Sum, ...]
    people: tuple[Sum, ...]
    doubtful: tuple[HoursLine, ...]
    total: float
    page: int
    pages: int

    @property
    def earlier(self) -> int | None:
        return self.page + 1 if self.page < self.pages else None

    @property
    def later(self) -> int | None:
        return self.page - 1 if self.page > 1 else None


def hours_page(build: Build, choice: Choice, page: int = 1) -> HoursPage:
    """Stints as chosen, newest first, and the sums over all of them (stints, members, ticks: three queries)."""
    chosen = list(_chosen(build, choice))
    ticks = _ticks(build)
    lines = [_line(stint, ticks) for stint in chosen]
    counted = [line for line in lines if line.stint.state == Stint.State.CLOSED]
    pages = max(1, -(-len(lines) // PAGE))
    page = min(max(1, page), pages)
    return HoursPage(
        lines=tuple(lines[(page - 1) * PAGE : page * PAGE]),
        stages=_by_work(counted),
        people=_by_person(counted),
        doubtful=tuple(line for line in lines if line.stint.state == Stint.State.TO_CONFIRM),
        total=sum(line.person_hours for line in counted),
        page=page,
        pages=pages,
    )


def _chosen(build: Build, choice: Choice) -> QuerySet[Stint]:
    stints = build.stints.select_related("job", "segment", "build").prefetch_related("people").order_by("-started_at")
    if choice.person is not None:
        stints = stints.filter(members__person_id=choice.person)
    if choice.work:
        by_stage = choice.work in {stage.value for stage in STAGES}
        stints = stints.filter(stage=choice.work) if by_stage else stints.filter(job__name=choice.work)
    if choice.day is not None:
        begin = datetime.combine(choice.day, datetime.min.time(), build.zone)
        end = datetime.combine(choice.day + timedelta(days=1), datetime.min.time(), build.zone)
        stints = stints.filter(started_at__gte=begin, started_at__lt=end)
    return stints


def _ticks(build: Build) -> dict[object, list[tuple[str, str, int]]]:
    ticks: dict[object, list[tuple[str, str, int]]] = defaultdict(list)
    entries = LedgerEntry.objects.filter(build=build, stint__isnull=False).order_by("at", "id")
    for stint, segment, stage, pixels in entries.values_list("stint_id", "segment__code", "stage", "pixels"):
        ticks[stint].append((segment, stage, pixels))
    return ticks


def _line(stint: Stint, ticks: dict[object, list[tuple[str, str, int]]]) -> HoursLine:
    own = [tick for tick in ticks.get(stint.pk, ()) if tick[1] == stint.stage]
    codes = list(dict.fromkeys(tick[0] for tick in own)) or ([stint.segment.code] if stint.segment else [])
    return HoursLine(stint, tuple(stint.people.all()), tuple(codes), sum(tick[2] for tick in own))


def _by_work(lines: Iterable[HoursLine]) -> tuple[Sum, ...]:
    hours: dict[str, float] = defaultdict(float)
    pixels: dict[str, int] = defaultdict(int)
    for line in lines:
        hours[line.stint.work] += line.person_hours
        pixels[line.stint.work] += line.pixels
    jobs = sorted(set(hours) - set(STAGES))
    stages = [Sum(stage.value, hours[stage], pixels[stage], stage) for stage in STAGES if stage in hours]
    return (*stages, *(Sum(job, hours[job]) for job in jobs))


def _by_person(lines: Iterable[HoursLine]) -> tuple[Sum, ...]:
    hours: dict[str, float] = defaultdict(float)
    for line in lines:
        for person in line.people:
            hours[person.name] += line.stint.hours
    return tuple(Sum(name, hours[name]) for name in sorted(hours, key=lambda name: -hours[name]))
