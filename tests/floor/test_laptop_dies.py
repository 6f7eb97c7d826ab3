"""The laptop dies in the middle of a shift: the last backup is restored on another one, and the tablets, which keep
what they sent, send it again. Nothing that was ticked is lost, and nothing counts twice."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from random import Random

import pytest
from django.conf import settings
from django.db import connection

from buildlog.backups.making import back_up
from tests.backups.test_making import manage
from tests.floor import faults
from tests.floor.test_power_cut import lost_in
from tests.floor.workday import Worker, address_of_test_database, hire

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="the dump of PostgreSQL is tried in tests/backups"),
]


@pytest.fixture
def laptops(tmp_path):
    """Where the site runs, and another one with an empty folder."""
    groups = []

    def start(data: str, database: str) -> faults.ServerGroup:
        groups.append(faults.ServerGroup(os.environ | {"BUILDLOG_DATA": data, "DATABASE_URL": database}))
        groups[-1].start()
        return groups[-1]

    yield start
    for group in groups:
        group.close()


def tick(worker: Worker, number: int) -> None:
    """Ticks, sent until they are answered."""
    waiting = [worker._make() for _ in range(number)]
    while waiting:
        waiting = worker._send(waiting)


def stored(workers: list[Worker]) -> set[str]:
    return {entry for worker in workers for entry, outcome in worker.said.items() if outcome in ("stored", "had")}


def test_nothing_ticked_is_lost_when_the_laptop_dies(shed, laptops, tmp_path, monkeypatch):
    monkeypatch.setattr(faults, "FAULTS", {})
    first = laptops(str(settings.DATA_DIR), address_of_test_database())
    pixels = dict(shed.segments.values_list("pk", "pixels"))
    workers = hire(shed, first, Random(11), ThreadPoolExecutor(1), 3, 10_000, len(pixels))
    for pk, number in pixels.items():  # a ball that is as planned passes the audit
        shed.segments.filter(pk=pk).update(pixels=number)
    connection.close()
    for worker in workers:
        tick(worker, 6)
    before = stored(workers)
    backup = back_up(tmp_path / "stick", datetime.now(UTC))
    for worker in workers:
        tick(worker, 4)
    after = stored(workers) - before
    first.kill()

    other = tmp_path / "other"
    restored = manage(other, "restore", str(backup.path))
    assert restored.returncode == 0, restored.stderr
    database = other / "buildlog.sqlite3"
    assert lost_in(database, before) == []
    assert after and len(lost_in(database, after)) == len(after), "what was ticked after the backup is not in it"

    second = laptops(str(other), f"sqlite:///{database}")
    for worker in workers:
        worker.wire.group = second
        kept = list(worker.made.values())
        while kept:
            kept = worker._send(kept)
    assert stored(workers) >= before | after
    assert lost_in(database, stored(workers)) == []
    second.kill()
    audited = manage(other, "audit", "--build", "SHED")
    assert audited.returncode == 0, audited.stderr
