"""PostgreSQL is restarted while people work: what was answered is there, the rest is sent again."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import close_old_connections, connection

from tests.floor.conftest import outcomes, post_batch
from tests.people import MONDAY
from tests.postgres import find_programs

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(connection.vendor != "postgresql", reason="a file has no connection that breaks")
@pytest.mark.django_db(transaction=True)
def test_a_tick_over_a_connection_that_broke_is_stored_the_next_time(shed, helper, tablet, server_clock):
    """A restart ends every connection: https://www.postgresql.org/docs/current/app-pg-ctl.html (mode fast)."""
    word = tablet.word_of(helper, MONDAY)
    batch = tablet.batch([tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=1)], MONDAY)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (ours,) = cursor.fetchone()
    other = connection.copy()
    with other.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s)", [ours])
    other.close()
    first = post_batch(tablet, batch)
    close_old_connections()  # the server does it before each request, the test client does not
    again = post_batch(tablet, batch)
    taken_at_once = first.status_code == 200 and outcomes(first) == ["stored"]
    assert outcomes(again) == (["had"] if taken_at_once else ["stored"])
    assert shed.segments.get(code="R1-1").populated == 1


@pytest.mark.long
@pytest.mark.skipif(connection.vendor != "sqlite", reason="it starts a server of its own, once is enough")
@pytest.mark.skipif(find_programs() is None, reason="PostgreSQL is not installed")
def test_nothing_is_lost_while_postgresql_is_restarted():
    """In a pass of its own: nobody else may use a server that is restarted. See `tests/floor/restarts.py`."""
    command = [sys.executable, "tests/postgres.py", sys.executable, "-m", "pytest", "-q", "tests/floor/restarts.py"]
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "BUILDLOG_"))}
    done = subprocess.run(command, cwd=ROOT, env=clean, capture_output=True, text=True)
    assert done.returncode == 0 and "1 passed" in done.stdout, done.stdout[-4000:] + done.stderr[-2000:]
