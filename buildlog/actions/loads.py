"""A lead's files taken into a build: all of it, or nothing and every problem."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID, uuid5

from django.db import transaction

from buildlog.actions import crew, jobs, logbook, plans, stints
from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.wording import _
from buildlog.core.work.rows import CrewRow, JobRow, Numbered, PatternRow, Reading, ShiftRow, StintRow
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import Spell
from buildlog.models import Build, Job, Person, Plan, Segment, WeeklyPattern

T = TypeVar("T", bound=Numbered)

MOST_PROBLEMS = 500  # more than anybody reads at once
FROM_FILE = UUID("6f1d0a2e-6d0c-4c57-8d0e-5a1f6c0b7a11")  # ids of rows follow from what they say: twice is once


@transaction.atomic
def load_rings(*, build: Build, reading: Reading[MeasuredRing], by: Person | None, now: datetime) -> int:
    """Put a measured ring table in the place of the formula, as long as nobody has worked by the plan."""
    if reading.problems:
        raise Refused(reading.problems)
    plan = Plan.objects.filter(build=build).first()
    if plan is None:
        raise Refused(Problem(_("The build has no plan yet: make one first, then load its rings.")))
    parameters = replace(
        plan.read(), measured=reading.rows, rings_count=None, ring_spacing_m=None, top_pixels=None, top_deg=None,
        bottom_pixels=None, bottom_deg=None,
    )  # fmt: skip
    frozen = plan.frozen
    if frozen:
        plans.unfreeze(build=build, by=by, now=now)  # refuses when somebody has worked by it
    plans.save(build=build, parameters=parameters, by=by, now=now)
    if frozen:
        plans.freeze(build=build, by=by, now=now)
    return len(reading.rows)


@transaction.atomic
def load_crew(*, build: Build, reading: Reading[CrewRow], by: Person | None, now: datetime) -> int:
    """Take people into the crew; who is there already gets what the file says."""

    def put(row: CrewRow) -> None:
        crew.put(
            build=build, name=row.name, by=by, now=now, initials=row.initials, skills=row.skills,
            populate_limit_h=row.populate_limit_h, role=row.role,
        )  # fmt: skip

    return _each(build, reading, put, now, by, "people")


@transaction.atomic
def load_availability(
    *, build: Build, reading: Reading[ShiftRow | PatternRow], by: Person | None, now: datetime
) -> int:
    """Note when people will be there. The same stretch again changes nothing; another that overlaps is refused."""
    people = _by_name(build)

    def promise(row: ShiftRow | PatternRow) -> None:
        person = _known(people, row.name)
        if isinstance(row, ShiftRow):
            crew.promise(person=person, starts_at=row.starts_at, ends_at=row.ends_at)
        else:
            crew.promise_weekly(pattern=_pattern(row, person, now))

    return _each(build, reading, promise, now, by, "shifts")


def _pattern(row: PatternRow, person: Person, now: datetime) -> WeeklyPattern:
    today = now.astimezone(person.build.zone).date()
    return WeeklyPattern(
        person=person, weekday=row.weekday, from_time=row.from_time, until_time=row.until_time,
        first_day=row.first_day or today, last_day=row.last_day,
    )  # fmt: skip


@transaction.atomic
def load_jobs(*, build: Build, reading: Reading[JobRow], by: Person | None, now: datetime) -> int:
    """Take jobs and what each waits for; a job that is there already gets what the file says."""

    def put(row: JobRow) -> None:
        jobs.put(
            build=build, name=row.name, hours=(row.hours_low, row.hours_likely, row.hours_high), hands=row.hands,
            skills=row.skills,
        )  # fmt: skip

    number = _each(build, reading, put, now, by, "jobs")
    _each(build, Reading(reading.rows), lambda row: jobs.wait(build=build, name=row.name, after=row.after), now, by, "")
    return number


@transaction.atomic
def load_stints(*, build: Build, reading: Reading[StintRow], by: Person | None, now: datetime) -> int:
    """Log stints and their ticks, in the order in which they ended, by the same rules as on the floor."""
    if not Plan.objects.filter(build=build, frozen_at__isnull=False).exists():
        raise Refused(Problem(_("The plan is not frozen yet: freeze it, then load what was done by it.")))
    people, known_jobs = _by_name(build), {job.name: job for job in build.jobs.all()}
    segments = {segment.code: segment for segment in build.segments.current()}
    in_order = sorted(reading.rows, key=lambda row: (row.end, row.start, row.row))

    def log(row: StintRow) -> None:
        work = stints.Work(*_stage_or_job(row.work, known_jobs), _segment(row, segments))
        _log(build, row, [_known(people, name) for name in row.names], work, now)

    return _each(build, replace(reading, rows=tuple(in_order)), log, now, by, "stints")


def _log(build: Build, row: StintRow, who: list[Person], work: stints.Work, now: datetime) -> None:
    key = [build.pk, "|".join(row.names), row.work, row.start.isoformat(), row.end.isoformat(), row.segment, row.pixels]
    logbook.enter(
        build=build,
        stint_id=uuid5(FROM_FILE, "\x1f".join(map(str, key))),
        people=who,
        work=work,
        spell=Spell(row.start, row.end, timedelta(minutes=row.rest_min)),
        pixels=row.pixels,
        now=now,
    )


def _each(
    build: Build, reading: Reading[T], act: Callable[[T], None], now: datetime, by: Person | None, noun: str
) -> int:
    """Act on every row; when any refuses, all problems are raised and nothing stays."""
    problems = list(reading.problems)
    for number, row in enumerate(reading.rows):
        reading.watch(number, len(reading.rows))
        if len(problems) > MOST_PROBLEMS:
            break
        try:
            with transaction.atomic():
                act(row)
        except Refused as refused:
            problems += [problem.at(row=row.row) for problem in refused.problems]
    if problems:
        raise Refused(sorted(problems, key=lambda problem: problem.row or 0))
    if noun:
        record(build=build, by=by, at=now, verb="load", says=f"{len(reading.rows)} {noun} loaded from a file.")
    return len(reading.rows)


def _by_name(build: Build) -> dict[str, Person]:
    return {person.name: person for person in build.people.active()}


def _known(people: dict[str, Person], name: str) -> Person:
    if name not in people:
        raise Refused(
            Problem(
                _("Nobody called {name!r} is in the crew; there are {people}."), "name", name=name, people=_list(people)
            )
        )
    return people[name]


def _stage_or_job(name: str, jobs: dict[str, Job]) -> tuple[Stage | None, Job | None]:
    if name.lower() in {stage.value for stage in STAGES}:
        return Stage(name.lower()), None
    if name in jobs:
        return None, jobs[name]
    raise Refused(
        Problem(
            _("{name!r} is neither a stage nor a job; known are {names}."),
            "stage",
            name=name,
            names=_list([*STAGES, *jobs]),
        )
    )


def _segment(row: StintRow, segments: dict[str, Segment]) -> Segment | None:
    if not row.segment:
        return None
    if row.segment.upper() not in segments:
        raise Refused(
            Problem(_("The plan has no segment {segment!r}: codes look like R12-3."), "segment", segment=row.segment)
        )
    return segments[row.segment.upper()]


def _list(names: Iterable[str]) -> str:
    return ", ".join(sorted(map(str, names))) or "none"
