"""The build as a forecast sees it: what was on file at one moment, in a fixed number of queries."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from itertools import groupby
from typing import Any

from django.db.models import Sum

from buildlog.core.forecast import input as core
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import StintTick, parts
from buildlog.models import Build, LedgerEntry, Person, Run, Segment, Shift, Stint, StintMember, WeeklyPattern
from buildlog.models.moment import at_one_moment

EachStage = tuple[int, int, int, int]
HORIZON = timedelta(days=400)  # how far a weekly pattern without a last day is believed


@dataclass(frozen=True)
class CrewInput:
    """The people a forecast counts with, by their place in it."""

    people: tuple[Person, ...]

    @property
    def working(self) -> tuple[Person, ...]:
        """Those who work on; all others are known by their past work alone."""
        return tuple(person for person in self.people if person.left_at is None and person.role != Person.Role.VIEWER)

    @cached_property
    def places(self) -> dict[int, int]:
        return {person.pk: place for place, person in enumerate(self.people)}

    @cached_property
    def owners(self) -> dict[int, int]:
        """Places of those for whom a segment of theirs waits."""
        return {person.pk: self.places[person.pk] for person in self.working}


def input_of(build: Build, as_of: datetime) -> core.ForecastInput:
    """Everything a forecast of this build may know at ``as_of`` (aware), read at one moment."""
    with at_one_moment():
        return _world_of(build, as_of)


def _world_of(build: Build, as_of: datetime) -> core.ForecastInput:
    plan = build.plans.first()
    crew = crew_of(build)
    jobs = list(build.jobs.prefetch_related("after"))
    skills = frozenset([*STAGES, *(job.name for job in jobs)])
    return core.ForecastInput(
        as_of=core.hours_of(as_of),
        segments=_segments(build, as_of, crew),
        helpers=_helpers(build, crew, skills, as_of),
        stints=_stints(build, as_of, crew),
        jobs=tuple(
            core.JobInput(
                name=job.name, low=job.hours_low, likely=job.hours_likely, high=job.hours_high, hands=job.hands,
                after=tuple(sorted(other.name for other in job.after.all())),
                done=job.done_at is not None and job.done_at <= as_of,
            )
            for job in jobs
        ),
        people=tuple(build.people_limits.get(stage) for stage in STAGES),
        standard=core.StandardRates(**{stage: float(rate) for stage, rate in build.standard_rates.items()}),
        target=core.hours_of(build.target_at) if build.target_at else None,
        build=build.code,
        time_zone=build.time_zone,
        plan_revision=plan.revision if plan else 0,
        ledger_entries=build.entries.filter(at__lte=as_of).count(),
    )  # fmt: skip


def _each_stage(value: Callable[[Stage], int]) -> EachStage:
    first, second, third, fourth = map(value, STAGES)
    return first, second, third, fourth


def crew_of(build: Build) -> CrewInput:
    """Helpers, and everybody else who worked or will come: who only looks on, now and ever, is no pair of hands."""
    at_work = set(StintMember.objects.filter(stint__build=build).values_list("person_id", flat=True))
    coming = set(Shift.objects.filter(person__build=build).values_list("person_id", flat=True))
    coming |= set(WeeklyPattern.objects.filter(person__build=build).values_list("person_id", flat=True))
    return CrewInput(tuple(person for person in build.people.all() if person.pk in at_work or _comes(person, coming)))


def _comes(person: Person, coming: set[int]) -> bool:
    if person.left_at is not None or person.role == Person.Role.VIEWER:
        return False
    return person.role == Person.Role.HELPER or person.pk in coming


def _segments(build: Build, as_of: datetime, crew: CrewInput) -> tuple[core.SegmentInput, ...]:
    done: dict[int, dict[str, int]] = defaultdict(dict)
    sums = build.entries.filter(at__lte=as_of).order_by().values("segment_id", "stage").annotate(sum=Sum("pixels"))
    for row in sums:
        done[row["segment_id"]][row["stage"]] = row["sum"]
    runs = _runs(build)
    hands = _each_stage(lambda stage: build.hands.get(stage, 1))
    return tuple(
        _segment(segment, done[segment.pk], tuple(runs[segment.pk]), hands, crew)
        for segment in build.segments.current()
    )


def _segment(
    segment: Segment, done: dict[str, int], runs: tuple[core.RunInput, ...], hands: EachStage, crew: CrewInput
) -> core.SegmentInput:
    return core.SegmentInput(
        code=segment.code,
        pixels=segment.pixels,
        done=_each_stage(lambda stage: max(0, min(done.get(stage, 0), segment.pixels))),
        runs=runs,
        ring=segment.ring,
        closing=segment.closing,
        assigned=crew.owners.get(segment.assigned_to_id or 0),
        hands=hands,
    )


def _runs(build: Build) -> dict[int, list[core.RunInput]]:
    """By segment, in the order of its pixels."""
    rows, places = list(Run.objects.filter(build=build).order_by("channel", "begins")), dict[int, int]()
    for _, chain in groupby(rows, key=lambda run: run.channel):
        places |= {run.pk: place for place, run in enumerate(chain, start=1)}
    runs: dict[int, list[core.RunInput]] = defaultdict(list)
    for run in sorted(rows, key=lambda run: run.first):
        runs[run.segment_id].append(core.RunInput(run.channel, places[run.pk], run.pixels))
    return runs


def _helpers(build: Build, crew: CrewInput, everything: frozenset[str], as_of: datetime) -> tuple[core.Helper, ...]:
    shifts = _shifts(build, as_of)
    return tuple(
        core.Helper(
            name=person.name,
            skills=frozenset(person.skills) if person.skills else everything,
            populate_limit_h=person.populate_limit_h,
            shifts=tuple(shift for shift in shifts[person.pk] if shift.end <= _ends(person, as_of)),
        )
        for person in crew.people
    )


def _ends(person: Person, as_of: datetime) -> float:
    """Until when somebody works here [h UTC]: who left, or only looks on now, does no work to come."""
    if person.left_at is not None:
        return core.hours_of(person.left_at)
    return core.hours_of(as_of) if person.role == Person.Role.VIEWER else math.inf


def _shifts(build: Build, as_of: datetime) -> dict[int, list[core.ShiftInput]]:
    """Dated shifts and weekly ones; where both say something of a day, the dated ones count."""
    shifts: dict[int, list[core.ShiftInput]] = defaultdict(list)
    dated = set()
    for row in Shift.objects.filter(person__build=build).order_by("starts_at"):
        day = row.starts_at.astimezone(build.zone).date().toordinal()
        dated.add((row.person_id, day))
        shifts[row.person_id].append(core.ShiftInput(core.hours_of(row.starts_at), core.hours_of(row.ends_at), day))
    for pattern in WeeklyPattern.objects.filter(person__build=build):
        weekly = _weekly(pattern, build, as_of)
        shifts[pattern.person_id] += [shift for shift in weekly if (pattern.person_id, shift.day) not in dated]
    return shifts


def _weekly(pattern: WeeklyPattern, build: Build, as_of: datetime) -> Iterable[core.ShiftInput]:
    last = min(pattern.last_day or (as_of + HORIZON).date(), (as_of + HORIZON).date())
    day = pattern.first_day + timedelta(days=(pattern.weekday - pattern.first_day.weekday()) % 7)
    while day <= last:
        start, end = pattern.spell_on(day, build.zone)
        if end > start:
            yield core.ShiftInput(core.hours_of(start), core.hours_of(end), day.toordinal())
        day += timedelta(days=7)


def _stints(build: Build, as_of: datetime, crew: CrewInput) -> tuple[core.StintInput, ...]:
    members: dict[object, list[int]] = defaultdict(list)
    for stint_id, person_id in StintMember.objects.filter(stint__build=build).values_list("stint_id", "person_id"):
        members[stint_id].append(crew.places[person_id])
    marks = _marks(build, as_of)
    # Plain rows: there are thousands, read again every few seconds.
    ended = build.stints.ended_by(as_of).values_list(
        "pk", "stage", "job__name", "segment__code", "started_at", "ended_at", "rest_s", "state", named=True
    )
    return tuple(part for stint in ended for part in _parts(stint, tuple(sorted(members[stint.pk])), marks[stint.pk]))


def _marks(build: Build, as_of: datetime) -> dict[object, list[StintTick]]:
    """The ticks of each stint, on whatever stage."""
    marks: dict[object, list[StintTick]] = defaultdict(list)
    entries = LedgerEntry.objects.filter(build=build, at__lte=as_of, stint__isnull=False).order_by("at", "id")
    for stint, segment, stage, pixels, at in entries.values_list("stint_id", "segment__code", "stage", "pixels", "at"):
        marks[stint].append(StintTick(segment, Stage(stage), pixels, at))
    return marks


def _parts(stint: Any, helpers: tuple[int, ...], marks: list[StintTick]) -> Iterable[core.StintInput]:
    """A stint over several segments counts as one spell a segment, cut where its ticks say."""
    own = [mark for mark in marks if mark.stage == stint.stage]
    rest = timedelta(seconds=stint.rest_s)
    for part in parts(stint.started_at, stint.ended_at, rest, own, stint.segment__code or ""):
        yield core.StintInput(
            work=stint.stage or stint.job__name,
            helpers=helpers,
            start=core.hours_of(part.start),
            end=core.hours_of(part.end),
            pixels=part.pixels,
            segment=part.segment,
            break_h=part.rest.total_seconds() / 3600,
            confirmed=stint.state == Stint.State.CLOSED,
        )
