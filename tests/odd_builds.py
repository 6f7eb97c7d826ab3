"""Builds that are odd in one way, by name; two ways at once are one after the other.

Each starts from the shed with Marek and Noor, who come an hour a day for thirty days, and a target in twenty.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta

from buildlog.core.work.ledger import LedgerKind
from buildlog.core.work.stages import Stage
from buildlog.models import Build, LedgerEntry, Person, Segment, Shift, Stint, WeeklyPattern
from tests.people import MONDAY, hours_after, join_crew

YESTERDAY = MONDAY - timedelta(hours=24)


def ordinary(build: Build) -> Build:
    for name in ("Marek", "Noor"):
        person = join_crew(build, name)
        for day in range(30):
            person.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 1))
    build.target_at = hours_after(24 * 20)
    build.save()
    return build


def no_stints(build: Build) -> None:
    """As it is."""


def one_stint(build: Build) -> None:
    _stint(build, minutes=12, pixels=20)


def one_helper(build: Build) -> None:
    build.people.filter(name="Noor").delete()


def nobody_available(build: Build) -> None:
    Shift.objects.filter(person__build=build).delete()
    WeeklyPattern.objects.filter(person__build=build).delete()


def nobody_in_the_crew(build: Build) -> None:
    build.people.filter(role="helper").delete()


def all_done(build: Build) -> None:
    for stage in Stage:
        for segment in build.segments.current():
            _tick(build, segment, segment.pixels, stage)


def no_skills(build: Build) -> None:
    """Whoever is there can do nothing that is left."""
    build.people.update(skills=["Crane"])


def availability_too_short(build: Build) -> None:
    Shift.objects.filter(person__build=build, starts_at__gt=MONDAY).delete()


def target_in_the_past(build: Build) -> None:
    build.target_at = YESTERDAY
    build.save()


def no_target(build: Build) -> None:
    build.target_at = None
    build.save()


def stint_of_zero_length(build: Build) -> None:
    _stint(build, minutes=0, pixels=5, hour=3)


def stint_of_zero_pixels(build: Build) -> None:
    _stint(build, minutes=30, pixels=0, hour=5)


def limit_0(build: Build) -> None:
    build.people_limits = {"wire": 0, "test": 2}
    build.save()


def hands_that_do_not_fit(build: Build) -> None:
    build.people_limits, build.hands = {"mount": 2}, {"mount": 3}
    build.save()


# Who is there comes first: nobody who has worked can be taken out of the crew again.
ODD: dict[str, Callable[[Build], None]] = {
    "one helper": one_helper,
    "nobody in the crew": nobody_in_the_crew,
    "nobody available": nobody_available,
    "availability too short": availability_too_short,
    "helpers without skills": no_skills,
    "no stints yet": no_stints,
    "one stint": one_stint,
    "a stint of zero length": stint_of_zero_length,
    "a stint of zero pixels": stint_of_zero_pixels,
    "limit 0": limit_0,
    "hands that do not fit": hands_that_do_not_fit,
    "a target in the past": target_in_the_past,
    "no target": no_target,
    "all done": all_done,
}


def _stint(build: Build, *, minutes: float, pixels: int, hour: float = 1) -> None:
    """One that somebody of the crew, or the lead, did yesterday."""
    segment, begin = build.segments.current().first(), YESTERDAY + timedelta(hours=hour)
    end = begin + timedelta(minutes=minutes)
    stint = Stint.objects.create(
        build=build, stage=Stage.POPULATE, segment=segment, started_at=begin, ended_at=end, state=Stint.State.CLOSED
    )
    who = build.people.order_by("-role", "name").exclude(role=Person.Role.VIEWER).last()
    stint.members.create(person=who, open=False)
    if pixels:
        _tick(build, segment, pixels, stint=stint, at=end)


def _tick(build: Build, segment: Segment, pixels: int, stage: Stage = Stage.POPULATE, *, stint=None, at=YESTERDAY):
    LedgerEntry.objects.create(
        id=uuid.uuid4(), build=build, segment=segment, stage=stage, pixels=pixels, kind=LedgerKind.TICK, stint=stint,
        at=at, made_at=at, arrived_at=at, fingerprint="",
    )  # fmt: skip
