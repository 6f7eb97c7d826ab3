"""A suggestion taken: free segments handed to those for whom the day plan has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from buildlog.actions.records import record
from buildlog.actions.ticks import lock
from buildlog.core.forecast.result.document.assignments import Assignment
from buildlog.core.wording import counted, listed
from buildlog.models import Build, Person, Record
from buildlog.queries.segments_now import standing_of

VERB, UNDONE = "hand out", "hand out undone"


@dataclass(frozen=True)
class Taken:
    """What came of it: the line on record (None: nothing changed), and why what was left is as it was."""

    line: Record | None
    left: tuple[str, ...]


@transaction.atomic
def take(*, build: Build, assignments: Sequence[Assignment], by: Person | None, now: datetime) -> Taken:
    """Hand out what is still as it was when it was suggested.

    What somebody got, ticked or began meanwhile is said and left; the rest is handed out all the same.
    """
    lock(build)
    standing, crew = standing_of(build), {person.name: person for person in build.people.working()}
    left = {
        assignment.segment: why
        for assignment in assignments
        if (why := assignment.why_not(standing.get(assignment.segment), crew))
    }
    taken = {each.segment: each.helper for each in assignments if each.segment not in left}
    for helper in sorted(set(taken.values())):
        codes = [code for code, who in taken.items() if who == helper]
        build.segments.current().filter(code__in=codes).order_by().update(assigned_to=crew[helper])
    if not taken:
        return Taken(None, tuple(left.values()))
    says = f"{counted(len(taken), 'segment')} from the day plan handed to {listed(sorted(set(taken.values())))}."
    return Taken(record(build=build, by=by, at=now, verb=VERB, says=says, given=taken), tuple(left.values()))


def last_taken(build: Build) -> Record | None:
    """The newest handing-out that was not undone."""
    undone = build.records.filter(verb=UNDONE).values_list("detail__line", flat=True)
    return build.records.filter(verb=VERB).exclude(pk__in=[pk for pk in undone if pk]).first()


@transaction.atomic
def take_back(*, build: Build, line: Record, by: Person | None, now: datetime) -> Taken:
    """Make free again what a line on record handed out; what somebody else has got since is said and left.

    Undoing it again changes nothing: whoever has a segment by now got it from somebody since.
    """
    lock(build)
    if build.records.filter(verb=UNDONE, detail__line=line.pk).exists():
        return Taken(None, ("It is undone already.",))
    owners, standing = line.detail["given"], standing_of(build)
    back = [code for code, who in owners.items() if code in standing and standing[code].owner == who]
    left = tuple(f"{code} is not {who}’s any more." for code, who in owners.items() if code not in back)
    build.segments.current().filter(code__in=back).order_by().update(assigned_to=None)
    if not back:
        return Taken(None, left)
    says = f"{counted(len(back), 'segment')} from the day plan free again."
    return Taken(record(build=build, by=by, at=now, verb=UNDONE, says=says, codes=back, line=line.pk), left)
