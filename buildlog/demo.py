"""The demo build: an invented ball, crew and log from `fixtures/demo`, moved so that today is its day 0.

Everything goes in through the same acts that people use, so the demo can never show what the app refuses.
"""

from __future__ import annotations

import csv
import json
import uuid
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from buildlog.actions import assign, builds, crew, jobs, loads, notes, plans
from buildlog.core import cells
from buildlog.core.plan.parse import read_options
from buildlog.core.work.rows import Reading, ShiftRow, StintRow
from buildlog.core.work.stages import Stage
from buildlog.models import Build, Person

FIRST_DAY = -19  # of work on the ball; what is done of the jobs was done before
HANDED_OUT = 5  # helpers who have pieces of their own
FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"


def read_scenario() -> dict[str, Any]:
    """What the demo is about, as the fixture says it."""
    told: dict[str, Any] = json.loads((FOLDER / "build.json").read_text(encoding="utf-8"))
    return told


@transaction.atomic
def load(*, lead: User, now: datetime) -> Build:
    """Make the demo build, led by this account, three weeks in."""
    scenario = read_scenario()
    zone = ZoneInfo(scenario["time_zone"])
    day_0 = now.astimezone(zone).date()
    eve = _moment(day_0, FIRST_DAY - 1, "18:00", zone)
    build = builds.begin(
        code=scenario["code"], name=scenario["name"], place=scenario["place"], time_zone=zone.key, now=eve, lead=lead
    )
    boss = build.people.get(user=lead)
    plans.save(build=build, parameters=read_options(scenario["options"]), by=boss, now=eve)
    plans.freeze(build=build, by=boss, now=eve)
    _jobs(build, scenario["jobs"], boss, eve)
    people = {person["name"]: crew.put(build=build, by=boss, now=eve, **person) for person in scenario["people"]}
    loads.load_availability(build=build, reading=Reading(tuple(_shifts(day_0, build.zone))), by=boss, now=now)
    loads.load_stints(build=build, reading=Reading(tuple(_stints(day_0, build.zone))), by=boss, now=now)
    _notes(build, scenario["notes"], people, boss, day_0)
    _assign(build, people, boss, now)
    target = _moment(day_0, scenario["target_day"], "20:00", build.zone)
    builds.describe(build=build, by=boss, now=now, target_at=target)
    return build


def _jobs(build: Build, rows: list[dict[str, Any]], by: Person, at: datetime) -> None:
    for each in rows:
        job = jobs.put(build=build, name=each["name"], hours=tuple(each["hours"]), hands=each["hands"])
        jobs.wait(build=build, name=job.name, after=each.get("after", []))
        jobs.set_done(job=job, done=each.get("done", False), by=by, now=at)


def _shifts(day_0: date, zone: ZoneInfo) -> Iterator[ShiftRow]:
    for number, row in enumerate(_rows("availability.csv"), start=2):
        start, end = (_moment(day_0, int(row["day"]), row[column], zone) for column in ("start", "end"))
        yield ShiftRow(number, row["name"], start, end)


def _stints(day_0: date, zone: ZoneInfo) -> Iterator[StintRow]:
    for number, row in enumerate(_rows("stints.csv"), start=2):
        start, end = (_moment(day_0, int(row["day"]), row[column], zone) for column in ("start", "end"))
        yield StintRow(
            row=number, names=(row["name"],), work=row["stage"], start=start, end=end, segment=row["segment"],
            pixels=int(row["pixels"]),
        )  # fmt: skip


def _notes(build: Build, rows: list[dict[str, Any]], people: dict[str, Person], boss: Person, day_0: date) -> None:
    for each in rows:
        at = _moment(day_0, each["day"], "11:20", build.zone)
        note = notes.leave(
            build=build, by=people[each["by"]], note_id=uuid.uuid4(), segment_code=each["segment"], says=each["says"],
            at=at,
        )  # fmt: skip
        if each.get("settled"):
            notes.settle(note=note, by=boss, now=at)


def _assign(build: Build, people: dict[str, Person], by: Person, now: datetime) -> None:
    """The next pieces to populate, four each in turn, to those who come oftenest."""
    waiting = build.segments.current().short_of(Stage.POPULATE).filter(closing=False)
    codes = list(waiting.values_list("code", flat=True)[: 4 * HANDED_OUT])
    for number, name in enumerate(list(people)[:HANDED_OUT]):
        assign.assign(build=build, codes=codes[4 * number : 4 * number + 4], to=people[name], by=by, now=now)


def _rows(name: str) -> Iterator[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as table:
        yield from csv.DictReader(table)


def _moment(day_0: date, day: int, clock: str, zone: ZoneInfo) -> datetime:
    local = datetime.combine(day_0 + timedelta(days=day), time.fromisoformat(clock))
    return cells.in_zone(local, zone)
