"""Restarts the PostgreSQL that it finds: not collected, `test_postgres_restart.py` runs it on a server of its own."""

from __future__ import annotations

import threading

import pytest

from tests.floor.workday import address_of_test_database, workday
from tests.postgres import restart

RESTARTS = 4
pytestmark = pytest.mark.django_db(transaction=True)


def test_restarts_lose_nothing(shed):
    at_work, over = threading.Event(), threading.Event()
    address = address_of_test_database()

    def again_and_again() -> None:
        at_work.wait()
        for _ in range(RESTARTS):
            restart(address)
            over.wait(1.5)  # of work in between
        over.set()

    def until() -> bool:
        at_work.set()
        return over.is_set()

    threading.Thread(target=again_and_again, daemon=True).start()
    day = workday(shed, 1, tablets=8, entries=40, kills=False, until=until)
    assert over.is_set(), "a restart failed"
    assert day.wrongs == {}
