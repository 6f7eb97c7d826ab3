"""The store, counted."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.materials.stock import StockItem
from buildlog.core.wording import _
from buildlog.core.work.rows import Reading
from buildlog.models import Build, Holding, Person


@transaction.atomic
def count(*, build: Build, counted: Iterable[StockItem], by: Person | None, now: datetime) -> int:
    """Put these numbers in the place of those there; what is not named stays. The old ones stay on record."""
    old = {(row.item, row.length_mm): row.quantity for row in build.holdings.select_for_update()}
    changed = {}
    for item in counted:
        key = (item.item, item.length_mm or 0.0)
        Holding.objects.update_or_create(
            build=build, item=item.item, length_mm=key[1], defaults={"quantity": item.quantity, "note": item.note}
        )
        if old.get(key) != item.quantity:
            changed[_named(item)] = [old.get(key), item.quantity]
    if changed:
        says = f"Counted: {', '.join(f'{after:g} {name}' for name, (_, after) in changed.items())}."
        record(build=build, by=by, at=now, verb="count stock", says=says, counted=changed)
    return len(changed)


def load_stock(*, build: Build, reading: Reading[StockItem], by: Person | None, now: datetime) -> int:
    """Take a stock table, all of it or nothing."""
    problems = [*reading.problems, *_without_length(reading.rows)]
    if problems:
        raise Refused(problems)
    count(build=build, counted=reading.rows, by=by, now=now)
    return len(reading.rows)


def _without_length(rows: Iterable[StockItem]) -> list[Problem]:
    return [
        Problem(_("An offcut needs its length: give length_mm."), "length_mm", row.row)
        for row in rows
        if row.item == "offcut" and not row.length_mm
    ]


def _named(item: StockItem) -> str:
    return f"{item.item} of {item.length_mm:g} mm" if item.length_mm else item.item
