"""The SQL of the hot tick, written out.

Django makes the SQL of a query anew each time, which takes it half a millisecond or more; the database then runs it in
some hundredths. What every tick asks for is written here once. Names of tables and columns come from the models, values
pass through their fields both ways: a row that is read or appended here is the row that a queryset reads or appends.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from functools import cached_property
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, connection, models

from buildlog.core.work.stages import Stage
from buildlog.models import Arrival, Build, Device, LedgerEntry, Person, Segment, SignIn, Stint, StintMember

Row = TypeVar("Row", bound=models.Model)
Reader = Callable[[Any], Any]

AS_STORED = (models.CharField, models.TextField, models.IntegerField, models.FloatField, models.BooleanField)
# What comes from SQLite otherwise than the field has it; PostgreSQL's driver gives these as they are.
FROM_SQLITE: dict[type[models.Field[Any, Any]], Reader] = {
    models.UUIDField: UUID,
    models.DateTimeField: lambda naive: naive.replace(tzinfo=UTC),
}
WHOLE = models.Value("")  # what was asked of a JSON column: all of it, no part


def _reader(field: models.Field[Any, Any]) -> Reader | None:
    """What makes a value of the database one of the field; None when it is one already."""
    if field.related_model is not None:
        return _reader(field.related_model._meta.pk)
    if isinstance(field, models.JSONField):
        return lambda text: field.from_db_value(text, WHOLE, connection)
    if isinstance(field, AS_STORED):
        return None
    reader = FROM_SQLITE[type(field)]
    return reader if connection.vendor == "sqlite" else None


def _field(model: type[models.Model], name: str) -> models.Field[Any, Any]:
    field = model._meta.get_field(name)
    assert isinstance(field, models.Field), f"{name} is a way to other rows, no column"
    return field


def _stored(model: type[models.Model], **values: Any) -> list[Any]:
    """The values of these fields as the database keeps them."""
    return [_field(model, name).get_db_prep_save(value, connection) for name, value in values.items()]


def _sql(model: type[models.Model], text: str) -> str:
    """SQL with the names of its ``{table}`` and its columns, called like their fields, filled in."""
    columns = {field.attname: f'"{field.column}"' for field in model._meta.concrete_fields}
    return text.format(table=f'"{model._meta.db_table}"', **columns)


class _Rows(Generic[Row]):
    """Whole rows of a table."""

    def __init__(self, model: type[Row]) -> None:
        self.model = model
        self.fields = model._meta.concrete_fields
        self.names = [field.attname for field in self.fields]
        self.columns = ", ".join(f'"{field.column}"' for field in self.fields)

    @cached_property  # a process has one database
    def _readers(self) -> list[tuple[int, Reader]]:
        readers = ((place, _reader(field)) for place, field in enumerate(self.fields))
        return [(place, reader) for place, reader in readers if reader is not None]

    def _read(self, stored: Sequence[Any]) -> Row:
        values = list(stored)
        for place, reader in self._readers:
            if values[place] is not None:
                values[place] = reader(values[place])
        return self.model.from_db(DEFAULT_DB_ALIAS, self.names, values)


class Lookup(_Rows[Row]):
    """The row with these values in the fields named, or None; ``only`` is a condition besides."""

    def __init__(self, model: type[Row], *by: str, only: str = "") -> None:
        super().__init__(model)
        where = " AND ".join([*(f"{{{name}}} = %s" for name in by), *([only] if only else [])])
        self.by = by
        self.sql = _sql(model, f"SELECT {self.columns} FROM {{table}} WHERE {where} LIMIT 1")

    def __call__(self, **values: Any) -> Row | None:
        with connection.cursor() as cursor:
            cursor.execute(self.sql, _stored(self.model, **{name: values[name] for name in self.by}))
            row = cursor.fetchone()
        return None if row is None else self._read(row)


class LookupById(_Rows[Row]):
    """The rows with one of these ids, by their id."""

    def __init__(self, model: type[Row]) -> None:
        super().__init__(model)
        self.sql = _sql(model, f"SELECT {self.columns} FROM {{table}} WHERE {{id}} IN ")

    def __call__(self, ids: Sequence[Any]) -> dict[Any, Row]:
        if not ids:
            return {}
        key = _field(self.model, "id")
        with connection.cursor() as cursor:
            places = ", ".join(["%s"] * len(ids))
            cursor.execute(f"{self.sql}({places})", [key.get_db_prep_save(value, connection) for value in ids])
            rows = [self._read(row) for row in cursor.fetchall()]
        return {row.pk: row for row in rows}


class Append(_Rows[Row]):
    """New rows in a table whose keys come with them, never from the database."""

    def __init__(self, model: type[Row]) -> None:
        super().__init__(model)
        places = ", ".join(["%s"] * len(self.fields))
        self.sql = _sql(model, f"INSERT INTO {{table}} ({self.columns}) VALUES ({places})")

    def __call__(self, rows: Sequence[Row]) -> None:
        if not rows:
            return
        with connection.cursor() as cursor:
            cursor.executemany(self.sql, [self._values(row) for row in rows])
        for row in rows:
            row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS

    def _values(self, row: Row) -> list[Any]:
        return [field.get_db_prep_save(getattr(row, field.attname), connection) for field in self.fields]


# ---- who sends it ---------------------------------------------------------------------------

build_by_code = Lookup(Build, "code")
device_by_key = Lookup(Device, "key_digest")
person_of_build = Lookup(Person, "build_id", "id")
sign_in = Lookup(SignIn, "id")
stint = Lookup(Stint, "id")
stint_member = Lookup(StintMember, "stint_id", "person_id")  # of one build: a stint has no strangers

# ---- what is there already ------------------------------------------------------------------

arrivals = LookupById(Arrival)
entries = LookupById(LedgerEntry)
undo_of = Lookup(LedgerEntry, "undoes_id")
segment = Lookup(Segment, "id")
segment_in_force = Lookup(Segment, "build_id", "code", only="{retired_at} IS NULL")

# ---- what is written ------------------------------------------------------------------------

append_arrivals = Append(Arrival)
append_entries = Append(LedgerEntry)

HOLD_BUILD = _sql(Build, "SELECT {id} FROM {table} WHERE {id} = %s FOR NO KEY UPDATE")
ADD_PIXELS = {
    stage: _sql(Segment, f"UPDATE {{table}} SET {{{stage.done}}} = {{{stage.done}}} + %s WHERE {{id}} = %s")
    for stage in Stage
}
NOTE_CONTACT = _sql(
    Device,
    "UPDATE {table} SET {last_sequence} = CASE WHEN {last_sequence} < %s THEN %s ELSE {last_sequence} END, "
    "{last_seen_at} = %s, {waiting} = %s, {oldest_waiting_at} = %s, {clock_offset_s} = %s WHERE {id} = %s",
)


def hold_build(build_id: int) -> None:
    """Keep the row for this transaction, on PostgreSQL; rows that only point at it need not wait."""
    with connection.cursor() as cursor:
        cursor.execute(HOLD_BUILD, [build_id])


def add_pixels(stage: Stage, segment_id: int, pixels: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(ADD_PIXELS[stage], [pixels, segment_id])


def note_contact(
    *, id: UUID, last_sequence: int, last_seen_at: datetime, waiting: int, oldest_waiting_at: datetime | None,
    clock_offset_s: float,
) -> None:  # fmt: skip
    """What a device says of itself; the highest number that arrived never goes back."""
    values = _stored(
        Device, last_sequence=last_sequence, last_seen_at=last_seen_at, waiting=waiting,
        oldest_waiting_at=oldest_waiting_at, clock_offset_s=clock_offset_s, id=id,
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(NOTE_CONTACT, [values[0], *values])
