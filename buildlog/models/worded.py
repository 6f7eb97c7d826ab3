"""Statements that are worded once.

Django words the SQL of a query anew each time, which takes it a millisecond or two; the database then runs it in some
hundredths. What every tick asks for is worded once a process instead, from querysets as everywhere, with blanks that
are filled in when it runs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from types import SimpleNamespace
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper
from django.db.models.expressions import Combinable, Expression
from django.db.models.sql import InsertQuery, UpdateQuery
from django.db.models.sql.compiler import SQLCompiler

Row = TypeVar("Row", bound=models.Model)
Converters = list[tuple[int, Sequence[Callable[..., Any]], Expression]]


class Blank(Expression):
    """A value that is given when the statement runs; ``field`` knows how the database writes it."""

    def __init__(self, name: str, field: models.Field) -> None:
        super().__init__(output_field=field)
        self.name = name

    def as_sql(self, compiler: SQLCompiler, connection: Any) -> tuple[str, list[Any]]:
        return "%s", [self]


def blank(model: type[models.Model], name: str) -> Blank:
    """A blank for a field, under the field's own name."""
    return Blank(name, model._meta.get_field(name))


class _Worded:
    """SQL with its blanks, worded when it is needed first. A process has one database, so once is enough."""

    def _compiler(self) -> SQLCompiler:
        raise NotImplementedError

    @cached_property
    def _statement(self) -> tuple[str, list[Any], Converters]:
        compiler = self._compiler()
        (sql, parts), *_ = worded if isinstance(worded := compiler.as_sql(), list) else [worded]
        columns = [column for column, *_ in compiler.select or ()]
        converters = [(at, how, column) for at, (how, column) in compiler.get_converters(columns).items()]
        return sql, list(parts), converters

    def _filled(self, database: BaseDatabaseWrapper, given: Mapping[str, Any]) -> list[Any]:
        return [
            part.output_field.get_db_prep_save(given[part.name], database) if isinstance(part, Blank) else part
            for part in self._statement[1]
        ]

    def _run(self, database: BaseDatabaseWrapper, cursor: CursorWrapper, given: Mapping[str, Any]) -> None:
        cursor.execute(self._statement[0], self._filled(database, given))


class _Rows(_Worded, Generic[Row]):
    """Reads whole rows of a queryset."""

    rows: models.QuerySet[Row]

    @cached_property
    def _columns(self) -> list[str]:
        return [field.attname for field in self.rows.model._meta.concrete_fields]

    def _read(self, database: BaseDatabaseWrapper, values: list[Any]) -> Row:
        for at, how, column in self._statement[2]:
            for convert in how:
                values[at] = convert(values[at], column, database)
        return self.rows.model.from_db(DEFAULT_DB_ALIAS, self._columns, values)


class Lookup(_Rows[Row]):
    """The row of a queryset with these values in the fields named: `Lookup(Person.objects.active(), "id")`."""

    def __init__(self, rows: models.QuerySet[Row], *by: str) -> None:
        self.rows, self.by = rows, by

    def _compiler(self) -> SQLCompiler:
        blanks = {name: blank(self.rows.model, name) for name in self.by}
        return self.rows.filter(**blanks).order_by()[:1].query.get_compiler(DEFAULT_DB_ALIAS)

    def __call__(self, **given: Any) -> Row | None:
        """The row, or None."""
        database = connections[DEFAULT_DB_ALIAS]
        with database.cursor() as cursor:
            self._run(database, cursor, given)
            found = cursor.fetchone()
        return None if found is None else self._read(database, list(found))


class Lookups(_Rows[Row]):
    """The rows of a queryset with one of up to ``most`` values in a field: `Lookups(Arrival.objects.all(), "id", 25)`.

    Worded for as many as there may be; with fewer the first is asked for again and again.
    """

    def __init__(self, rows: models.QuerySet[Row], by: str, most: int) -> None:
        self.rows, self.by, self.most = rows, by, most

    def _compiler(self) -> SQLCompiler:
        field = self.rows.model._meta.get_field(self.by)
        blanks = [Blank(str(number), field) for number in range(self.most)]
        return self.rows.filter(**{f"{self.by}__in": blanks}).order_by().query.get_compiler(DEFAULT_DB_ALIAS)

    def __call__(self, values: Sequence[Any]) -> dict[Any, Row]:
        """The rows found, by their value in the field."""
        if not values:
            return {}
        filled = [*values, *[values[0]] * (self.most - len(values))]
        database = connections[DEFAULT_DB_ALIAS]
        with database.cursor() as cursor:
            self._run(database, cursor, {str(number): value for number, value in enumerate(filled)})
            found = [self._read(database, list(row)) for row in cursor.fetchall()]
        return {getattr(row, self.by): row for row in found}


class Change(_Worded):
    """New values for the row with a key: `Change(Segment, "id", wired=F("wired") + Blank("pixels", …))`."""

    def __init__(self, model: type[models.Model], by: str, **values: Combinable) -> None:
        self.model, self.by, self.values = model, by, values

    def _compiler(self) -> SQLCompiler:
        rows = self.model._default_manager.filter(**{self.by: blank(self.model, self.by)})
        query = rows.query.chain(UpdateQuery)
        query.add_update_values(self.values)
        return query.get_compiler(DEFAULT_DB_ALIAS)

    def __call__(self, **given: Any) -> None:
        database = connections[DEFAULT_DB_ALIAS]
        with database.cursor() as cursor:
            self._run(database, cursor, given)


class Append(_Worded, Generic[Row]):
    """New rows in a table whose keys are given, never made by the database."""

    def __init__(self, model: type[Row]) -> None:
        self.model = model

    def _compiler(self) -> SQLCompiler:
        columns = self.model._meta.concrete_fields
        query = InsertQuery(self.model)
        query.insert_values(columns, [SimpleNamespace(**{one.attname: Blank(one.attname, one) for one in columns})])
        return query.get_compiler(DEFAULT_DB_ALIAS)

    def __call__(self, *rows: Row) -> None:
        if not rows:
            return
        database = connections[DEFAULT_DB_ALIAS]
        with database.cursor() as cursor:
            cursor.executemany(self._statement[0], [self._filled(database, vars(row)) for row in rows])
        for row in rows:
            row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS
