"""A lead's file into a build: which reader and which act belong to each kind. The command and the screen share it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction

from buildlog.actions import loads, supplies
from buildlog.core.work.rows import Reading, Watch, nobody
from buildlog.files import kinds
from buildlog.files.stock import stock
from buildlog.models import Build, Person


@dataclass(frozen=True)
class FileKind:
    """A kind of table: what its rows are, how a file is read and how the rows are taken."""

    noun: str
    columns: str
    read: Callable[[bytes, Build], Reading[Any]]
    take: Callable[..., int]


KINDS: dict[str, FileKind] = {
    "rings": FileKind(
        "rings", "ring, pixels, height_mm, closing", lambda content, build: kinds.rings(content), loads.load_rings
    ),
    "crew": FileKind(
        "people",
        "name, initials, skills, populate_limit_h, role",
        lambda content, build: kinds.crew(content, build.jobs.values_list("name", flat=True)),
        loads.load_crew,
    ),
    "availability": FileKind(
        "shifts",
        "name with date, start, end, or with weekday, from, until",
        lambda content, build: kinds.availability(content, build.zone),
        loads.load_availability,
    ),
    "stints": FileKind(
        "stints",
        "name, stage (or job), start, end, break_min, segment, pixels",
        lambda content, build: kinds.stints(content, build.zone),
        loads.load_stints,
    ),
    "stock": FileKind(
        "stock lines", "item, quantity, length_mm, note", lambda content, build: stock(content), supplies.load_stock
    ),
    "jobs": FileKind(
        "jobs",
        "job, hours_low, hours_likely, hours_high, hands, after, skills",
        lambda content, build: kinds.jobs(content),
        loads.load_jobs,
    ),
}


def load(
    kind: str,
    content: bytes,
    *,
    build: Build,
    by: Person | None,
    now: datetime,
    dry_run: bool = False,
    watch: Watch = nobody,
) -> tuple[int, tuple[str, ...]]:
    """Take the whole file, or nothing; ``watch`` is told how far it is and may stop it.

    Returns (rows taken, remarks); raises Refused with every bad row.
    """
    reading = replace(KINDS[kind].read(content, build), watch=watch)
    with transaction.atomic():
        number = KINDS[kind].take(build=build, reading=reading, by=by, now=now)
        transaction.set_rollback(dry_run)
    return number, reading.remarks
