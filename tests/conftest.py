"""What every test shares."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")

pytest_plugins = ["tests.people", "tests.busy"]

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server", "admin_user"}
HERE = Path(__file__).parent
BROWSER_TESTS = HERE / "browser"
# They touch no database, see below: for another one than SQLite they are not even read.
PURE_TESTS = ("core", "published", "drawings", "paper", "files")
collect_ignore = list(PURE_TESTS) if os.environ.get("DATABASE_URL", "").startswith("postgres") else []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what touches the database and what drives a browser, so that a pass can choose by it."""
    for item in items:
        if _touches_database(item):
            item.add_marker("database")
            if item.path.relative_to(HERE).parts[0] in PURE_TESTS:
                raise pytest.UsageError(f"{item.nodeid} touches the database: it does not belong in this folder.")
        if BROWSER_TESTS in item.path.parents:
            item.add_marker("browser")


def _touches_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    return bool(item.get_closest_marker("django_db") or fixtures & DATABASE_FIXTURES)
