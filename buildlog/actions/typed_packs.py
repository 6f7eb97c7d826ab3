"""The cells of a pack as values of the types that the columns of today have; a cell of another type is refused."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from typing import Annotated, Any, Optional
from uuid import UUID

import msgspec
from django.db import models

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.pack import Pack, PackedTable
from buildlog.core.wording import _
from buildlog.models.document import DocumentField
from buildlog.models.packed import PACKED, PackedModel

TYPES: dict[type[models.Field[Any, Any]], Any] = {
    models.BooleanField: bool,
    models.IntegerField: int,
    models.FloatField: float,
    models.CharField: str,
    models.DateTimeField: Annotated[datetime, msgspec.Meta(tz=True)],
    models.DateField: date,
    models.TimeField: time,
    models.UUIDField: UUID,
    models.ForeignKey: int,  # the place of a row in another table
    models.OneToOneField: int,
    models.ManyToManyField: list[int],
}
PLACE = re.compile(r" - at (?:`key` in )?`\$\[(\d+)\](.*)`$")  # as msgspec says where something is wrong
BY_A_DEVICE = {"made_at", "oldest_waiting_at"}  # its clock may say any year
FIRST_YEAR_OF_A_DEVICE, LAST_YEAR_OF_A_DEVICE = 1970, 9998


def typed(pack: Pack) -> Pack:
    """Raises Refused naming table, row and column of the first cell that does not fit."""
    return Pack({kind.name: _typed(kind, pack.tables[kind.name]) for kind in PACKED})


def _typed(kind: PackedModel, table: PackedTable) -> PackedTable:
    fields = {field.name: field for field in (*kind.fields, *kind.lists)}
    types = tuple(_type_of(fields[name]) if name in fields else Any for name in table.columns)
    row_type = tuple.__class_getitem__(types)
    return PackedTable(
        table.columns,
        tuple(_row(kind, table.columns, row, number, row_type) for number, row in enumerate(table.rows, start=1)),
    )


def _type_of(field: models.Field[Any, Any]) -> Any:
    if isinstance(field, DocumentField):
        return field.holds
    kind = next(TYPES[kind] for kind in type(field).__mro__ if kind in TYPES)
    return Optional[kind] if field.null else kind  # noqa: UP045 (an annotated type takes no |)


def _row(
    kind: PackedModel, columns: Sequence[str], row: tuple[Any, ...], number: int, row_type: Any
) -> tuple[Any, ...]:
    try:
        read = msgspec.convert(row, row_type)
        for name, cell, value in zip(columns, row, read, strict=True):
            _refuse_far_time(name, value)
            _refuse_half_letters(name, cell)
    except (msgspec.ValidationError, Unreadable, UnicodeEncodeError) as wrong:
        reason = PLACE.sub(lambda at: f" ({columns[int(at[1])]}{at[2]})", str(wrong))
        raise Refused(
            Problem(_("{table}.json cannot be taken: {reason}"), "file", number, table=kind.name, reason=reason)
        ) from wrong
    # Documents stay the JSON that they are; of their types only that they fit was asked.
    return tuple(cell if isinstance(cell, dict | list) else value for cell, value in zip(row, read, strict=True))


def _refuse_far_time(name: str, value: object) -> None:
    if not isinstance(value, date):
        return
    if name not in BY_A_DEVICE:
        cells.near(value)
    elif not FIRST_YEAR_OF_A_DEVICE <= value.year <= LAST_YEAR_OF_A_DEVICE:
        raise Unreadable(_("Found the year {year} ({name})."), year=value.year, name=name)


def _refuse_half_letters(name: str, cell: object) -> None:
    """Half of a surrogate pair is no letter, and no database takes it."""
    if isinstance(cell, str | dict | list):
        msgspec.json.encode(cell)
