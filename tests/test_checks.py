"""The system checks, and the mode in which SQLite runs."""

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.db.backends.sqlite3.base import DatabaseWrapper

from buildlog import checks
from buildlog.settings import sqlite_database

sqlite_only = pytest.mark.skipif(connection.vendor != "sqlite", reason="about SQLite")


def open_sqlite(path, **options) -> DatabaseWrapper:
    """A connection of its own to a file, with some options changed."""
    made = sqlite_database(str(path))
    defaults = {"TIME_ZONE": None, "AUTOCOMMIT": True, "ATOMIC_REQUESTS": False, "CONN_HEALTH_CHECKS": False}
    return DatabaseWrapper(defaults | made | {"OPTIONS": made["OPTIONS"] | options}, alias="trial")


@sqlite_only
@pytest.mark.django_db
def test_the_database_of_the_tests_runs_as_the_app_does():
    assert checks.sqlite_differences(connection) == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("options", "said"),
    [
        (
            {"init_command": "PRAGMA journal_mode=DELETE; PRAGMA synchronous=FULL;"},
            "journal_mode is 'delete'",
        ),
        (
            {"init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;"},
            "synchronous is 1, must be 2",
        ),
        ({"timeout": 5}, "busy_timeout is 5000"),
        ({"transaction_mode": "DEFERRED"}, "transaction_mode is 'DEFERRED'"),
    ],
)
def test_another_mode_is_refused_when_the_connection_opens(tmp_path, options, said):
    trial = open_sqlite(tmp_path / "b.sqlite3", **options)
    with pytest.raises(ImproperlyConfigured, match=said):
        trial.connect()
    trial.close()


@pytest.mark.django_db
def test_the_right_mode_opens(tmp_path):
    trial = open_sqlite(tmp_path / "b.sqlite3")
    trial.connect()
    assert trial.cursor().execute("PRAGMA journal_mode").fetchone() == ("wal",)
    trial.close()


@pytest.mark.django_db
def test_a_database_that_runs_as_it_must_passes():
    assert checks.database_mode(None, databases=["default"]) == []


@pytest.mark.django_db
def test_a_database_that_does_not_gives_an_error_with_a_hint(monkeypatch):
    monkeypatch.setattr(checks, "sqlite_differences", lambda connection: ["synchronous is 1, must be 2"])
    monkeypatch.setattr(connection, "vendor", "sqlite")
    (error,) = checks.database_mode(None, databases=["default"])
    assert error.id == "buildlog.E001"
    assert "synchronous is 1" in error.msg
    assert error.hint


def test_another_time_zone_is_refused(settings):
    settings.TIME_ZONE = "Europe/Lisbon"
    assert [error.id for error in checks.time_in_utc(None)] == ["buildlog.E002"]


def test_utc_and_the_table_of_zones_pass():
    assert checks.time_in_utc(None) + checks.zones_known(None) == []
