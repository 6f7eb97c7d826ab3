"""A build packed: all its rows as plain tables, one query a table."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import Field, ForeignKey

from buildlog.core.pack import Pack, PackedTable
from buildlog.models import Build
from buildlog.models.moment import at_one_moment
from buildlog.models.packed import PACKED, PackedModel

Places = dict[type, dict[Any, int]]


def packed(build: Build) -> Pack:
    """The whole build as it is on file at one moment."""
    places: Places = {}
    with at_one_moment():
        return Pack({kind.name: _table(kind, build, places) for kind in PACKED})


def _table(kind: PackedModel, build: Build, places: Places) -> PackedTable:
    fields, lists = kind.fields, kind.lists
    rows = list(kind.rows_of(build).prefetch_related(*(field.name for field in lists)))
    places[kind.model] = {row.pk: place for place, row in enumerate(rows, start=1)}
    return PackedTable(
        kind.columns,
        tuple(
            tuple(_cell(field, row, places) for field in fields)
            + tuple(sorted(places[field.related_model][other.pk] for other in getattr(row, field.name).all())
                    for field in lists)
            for row in rows
        ),
    )  # fmt: skip


def _cell(field: Field[Any, Any], row: Any, places: Places) -> Any:
    value = field.value_from_object(row)
    if isinstance(field, ForeignKey):
        return None if value is None else places[field.related_model][value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else _plain(value)


def _plain(value: Any) -> Any:
    """As JSON gives it back: lists for tuples, names in order."""
    return json.loads(json.dumps(value, sort_keys=True)) if isinstance(value, dict | list | tuple) else value
