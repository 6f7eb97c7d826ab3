"""System checks, each with an id and what to do about it."""

import zoneinfo
from collections.abc import Sequence
from contextlib import AbstractContextManager
from typing import Any, Protocol

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import Error, Tags, register
from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError, connections

SYNCHRONOUS_FULL = 2
BUSY_TIMEOUT_MS = 20_000


class Cursor(Protocol):
    """As databases have it (PEP 249)."""

    def execute(self, sql: str, /) -> object: ...
    def fetchone(self) -> Any: ...


class Connection(Protocol):
    """What the checks need to know of a connection."""

    @property
    def vendor(self) -> str: ...
    @property
    def settings_dict(self) -> dict[str, Any]: ...
    def cursor(self) -> AbstractContextManager[Cursor]: ...


def sqlite_differences(connection: Connection) -> list[str]:
    """What this SQLite connection does otherwise than it must; each line says found and wanted."""
    wanted: dict[str, object] = {
        "journal_mode": "wal",
        "synchronous": SYNCHRONOUS_FULL,
        "foreign_keys": 1,
        "busy_timeout": BUSY_TIMEOUT_MS,
    }
    actual: dict[str, object] = {name: _pragma(connection, name) for name in wanted}
    wanted |= {"transaction_mode": "IMMEDIATE", "CONN_MAX_AGE": None}
    actual |= {
        "transaction_mode": getattr(connection, "transaction_mode", None),
        "CONN_MAX_AGE": connection.settings_dict["CONN_MAX_AGE"],
    }
    return [f"{name} is {actual[name]!r}, must be {wanted[name]!r}" for name in wanted if actual[name] != wanted[name]]


def _pragma(connection: Connection, name: str) -> str | int:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {name}")
        value: str | int = cursor.fetchone()[0]
        return value


def refuse_unsafe_connection(connection: Connection, **kwargs: object) -> None:
    """Called for every new connection: better no app than one that loses ticks in a power cut."""
    if connection.vendor != "sqlite":
        return
    if differences := sqlite_differences(connection):
        raise ImproperlyConfigured(
            f"The SQLite database {connection.settings_dict['NAME']} does not run as it must: "
            f"{'; '.join(differences)}. Put it on a local disk (not a network share) and keep the "
            "OPTIONS of buildlog/settings.py."
        )


@register(Tags.database)
def database_mode(
    app_configs: Sequence[AppConfig] | None, databases: Sequence[str] | None = None, **kwargs: object
) -> list[Error]:
    """The database opens, and SQLite runs in the mode that keeps every acknowledged tick."""
    problems = []
    for alias in databases or []:
        try:
            connections[alias].ensure_connection()
            if connections[alias].vendor == "sqlite" and (differing := sqlite_differences(connections[alias])):
                problems.append(_database_error("; ".join(differing)))
        except (DatabaseError, ImproperlyConfigured) as problem:
            problems.append(_database_error(str(problem)))
    return problems


def _database_error(reason: str) -> Error:
    return Error(
        f"The database cannot be used: {reason}",
        hint="Look at DATABASE_URL and BUILDLOG_DATA; SQLite needs a local disk that can be written.",
        id="buildlog.E001",
    )


@register()
def time_in_utc(app_configs: Sequence[AppConfig] | None, **kwargs: object) -> list[Error]:
    """Times are stored and reckoned in UTC, or hours come out wrong where the clocks change."""
    if settings.USE_TZ and settings.TIME_ZONE == "UTC":
        return []
    return [
        Error(
            f"TIME_ZONE is {settings.TIME_ZONE!r} and USE_TZ is {settings.USE_TZ!r}; must be 'UTC' and True.",
            hint="Each build has its own time zone; leave these two settings alone.",
            id="buildlog.E002",
        )
    ]


@register()
def zones_known(app_configs: Sequence[AppConfig] | None, **kwargs: object) -> list[Error]:
    """The table of time zones is there (on Windows it comes with the tzdata package)."""
    if "Europe/Lisbon" in zoneinfo.available_timezones():
        return []
    return [
        Error(
            "No table of time zones found.",
            hint="Run `make setup`: it installs the tzdata package.",
            id="buildlog.E003",
        )
    ]
