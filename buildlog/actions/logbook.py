"""A stint that is over, entered afterwards together with what came of it: both or neither."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from buildlog.actions import stints, ticks
from buildlog.core.errors import Problem, Refused
from buildlog.core.work.stints import Spell
from buildlog.models import Build, Person, Stint


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


def _tick(
    build: Build, stint: Stint, people: Sequence[Person], work: stints.Work, at: datetime, pixels: int, now: datetime
) -> None:
    if work.stage is None or work.segment is None:
        raise Refused(Problem("Pixels are ticked on a stage of a segment: name both, or leave pixels empty.", "pixels"))
    ticks.tick(
        build=build, actor=people[0], entry_id=uuid5(stint.pk, "tick"), segment_code=work.segment.code,
        stage=work.stage, pixels=pixels, moment=ticks.Moment(at, at, now), stint=stint,
    )  # fmt: skip
