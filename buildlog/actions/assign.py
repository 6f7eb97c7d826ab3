"""Who does which segments."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build, Person


@transaction.atomic
def assign(
    *, build: Build, codes: Collection[str], to: Person | None, by: Person | None, now: datetime
) -> dict[str, str | None]:
    """Give these segments to somebody, or to nobody. Returns who had each before, by name, so that it can be undone."""
    if to is not None and (to.build_id != build.pk or to.left_at is not None or to.role == Person.Role.VIEWER):
        raise Refused(Problem(_("{to} does not work on this build: choose one of its crew."), "assigned_to", to=to))
    rows = build.segments.current().filter(code__in=list(codes)).select_related("assigned_to")
    before = {row.code: row.assigned_to.name if row.assigned_to else None for row in rows}
    if unknown := sorted(set(codes) - set(before)):
        raise Refused(Problem(_("The plan has no segment {codes}."), "segments", codes=", ".join(unknown[:5])))
    if not before:
        raise Refused(Problem(_("No segment is chosen: tap one on the map, or name a ring."), "segments"))
    rows.order_by().update(assigned_to=to)
    number = f"{len(before)} segment{'' if len(before) == 1 else 's'}"
    says = f"{number} assigned to {to}." if to else f"{number} assigned to nobody."
    record(build=build, by=by, at=now, verb="assign", says=says, before=before, to=to.name if to else None)
    return before


@transaction.atomic
def restore(*, build: Build, before: dict[str, str | None], by: Person, now: datetime) -> None:
    """Undo an assignment: each segment goes back to who had it."""
    people = {person.name: person for person in build.people.active()}
    for name in set(before.values()):
        codes = [code for code, had in before.items() if had == name]
        assign(build=build, codes=codes, to=people.get(name) if name else None, by=by, now=now)
