"""A stint that is over, entered afterwards together with what came of it: both or neither."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction

from buildlog.actions import stints, ticks
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES
from buildlog.core.work.stints import Spell
from buildlog.models import Build, Person, Stint

NOT_TICKED = Problem(_("Pixels are ticked on a stage of a segment: name both, or leave pixels empty."), "pixels")


@transaction.atomic
def enter(
    *,
    build: Build,
    stint_id: UUID,
    people: Sequence[Person],
    work: stints.Work,
    spell: Spell,
    pixels: int,
    now: datetime,
) -> Stint:
    """Log the stint, and tick ``pixels`` of its segment at its end. The same id again changes nothing.

    0 pixels are rework or set-up time. Raises Refused by the same rules as on the floor.
    """
    known = Stint.objects.filter(pk=stint_id, build=build).first()
    if known is not None:
        return known
    stint = stints.log(build=build, stint_id=stint_id, people=people, work=work, spell=spell, ticked=pixels > 0)
    if pixels:
        _tick(build, stint, people, work, spell.end, pixels, now)
    return stint


def refuse(
    *, build: Build, stint_id: UUID | None, people: Sequence[Person], work: str, segment: str, start: datetime | None,
    end: datetime | None, rest: timedelta, pixels: int, now: datetime,
) -> None:  # fmt: skip
    """Raise Refused with everything that is wrong with a stint, as far as it is told; "" and None are not told yet."""
    if stint_id is not None and Stint.objects.filter(pk=stint_id, build=build).exists():
        return
    problems = []
    if end is not None and end > now:
        problems.append(Problem(_("This stint ends in the future: enter it when it is over."), "end"))
    elif start is not None and end is not None and (wrong := stints.impossible(people, Spell(start, end, rest))):
        problems.append(wrong)
    if segment and not build.segments.current().filter(code=segment.strip().upper()).exists():
        problems.append(ticks.no_segment(segment))
    if pixels and (not segment or work not in STAGES):
        problems.append(NOT_TICKED)
    if problems:
        raise Refused(problems)


def _tick(
    build: Build, stint: Stint, people: Sequence[Person], work: stints.Work, at: datetime, pixels: int, now: datetime
) -> None:
    if work.stage is None or work.segment is None:
        raise Refused(NOT_TICKED)
    ticks.tick(
        build=build, actor=people[0], entry_id=uuid5(stint.pk, "tick"), segment_code=work.segment.code,
        stage=work.stage, pixels=pixels, moment=ticks.Moment(at, at, now), stint=stint,
    )  # fmt: skip
