"""The limit on how many people fit at a stage at once, held when a stint begins."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from buildlog.actions.records import record
from buildlog.actions.ticks import Moment, lock
from buildlog.core.errors import Problem, Refused
from buildlog.core.work.room import AT_ONCE, Inside, too_many, why_no_room
from buildlog.core.work.stages import Stage
from buildlog.models import Build, Person, Stint, StintMember
from buildlog.models.build import TOO_MANY


def keep_limit(build: Build, stage: Stage, people: Sequence[Person], stint_id: UUID, moment: Moment) -> None:
    """Refuse people who do not fit, naming who is there. Inside the transaction that begins their stint.

    Who began where no network was is at work already: that is kept, and put on record for the lead.
    """
    if stage not in build.people_limits:
        return
    lock(build)  # two who begin at the same moment must see one another
    inside = at_work(build, stage, moment.at, people)
    reason = why_no_room(stage, inside, len(people), build.people_limits)
    if reason is None or Stint.objects.filter(pk=stint_id).exists():  # the same start again is no other person
        return
    if moment.arrived_at - moment.at <= AT_ONCE:
        raise Refused(Problem(reason, "stage"))
    says = too_many(stage, [person.name for person in people], inside, build.people_limits)
    if says:
        arrived = moment.arrived_at.isoformat()
        record(build=build, by=people[0], at=moment.at, verb=TOO_MANY, says=str(says)[:400], arrived=arrived)


def at_work(build: Build, stage: Stage, at: datetime, besides: Sequence[Person]) -> list[Inside]:
    """Who was at work at this stage at that moment, by name (one query); whoever rests keeps the place."""
    there = Q(stint__ended_at__isnull=True) | Q(stint__ended_at__gt=at)
    members = StintMember.objects.filter(there, stint__build=build, stint__stage=stage, stint__started_at__lte=at)
    members = members.exclude(person__in=besides).exclude(stint__state=Stint.State.TO_CONFIRM)
    rows = members.order_by("person__name").values_list("person__name", "stint__paused_at")
    return [Inside(name, paused is not None) for name, paused in rows]
