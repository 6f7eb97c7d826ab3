"""What a power cut leaves on the disk, as far as that can be simulated: the files of the database as they stand at some
moment in the middle of the work, with a torn write behind them. Every entry that was answered has to be in there.

The server is stopped while its files are copied, so a copy is what a disk would hold that keeps what it was told to
keep. A disk that says it has written what it has not is beyond any program, and is not tested.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import sqlite3
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random

import pytest
from django.conf import settings
from django.db import connection

from tests.floor import faults
from tests.floor.workday import Worker, address_of_test_database, hire

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "sqlite", reason="PostgreSQL keeps its own promise; its files are not ours"
    ),
]
CUTS = 8


@pytest.fixture
def group() -> Iterator[faults.ServerGroup]:
    at = {"DATABASE_URL": address_of_test_database(), "BUILDLOG_DATA": str(settings.DATA_DIR)}
    group = faults.ServerGroup(at)
    yield group
    group.close()


@pytest.fixture
def workers(shed, group, monkeypatch) -> list[Worker]:
    """Six tablets on a good network."""
    monkeypatch.setattr(faults, "FAULTS", {})
    late = ThreadPoolExecutor(1)
    hired = hire(shed, group, Random(7), late, 6, 10_000, 6)
    connection.close()
    return hired


def test_what_was_answered_survives_a_power_cut(group, workers, tmp_path):
    group.start()
    stop, chance = threading.Event(), Random(7)
    threads = [threading.Thread(target=work_until, args=[worker, stop], daemon=True) for worker in workers]
    for thread in threads:
        thread.start()
    try:
        wait_for_an_answer(workers)
        images = [cut(group, workers, tmp_path / str(number), chance) for number in range(CUTS)]
    finally:
        stop.set()
        for thread in threads:
            thread.join(60)
    for answered, image in images:
        assert lost_in(image, answered) == []
    assert len(images[-1][0]) > len(images[0][0]) > 0, "nothing was going on"


def work_until(worker: Worker, stop: threading.Event) -> None:
    queue = []
    while not stop.is_set():
        queue += [worker._make() for _ in range(worker.chance.randint(1, 9))]
        queue = worker._send(queue)


def wait_for_an_answer(workers: list[Worker]) -> None:
    deadline = time.monotonic() + 60
    while not any(dict(worker.said) for worker in workers) and time.monotonic() < deadline:
        time.sleep(0.05)


def answered_by(workers: list[Worker]) -> set[str]:
    return {i for worker in workers for i, said in dict(worker.said).items() if said in ("stored", "had")}


def cut(group: faults.ServerGroup, workers: list[Worker], folder: Path, chance: Random) -> tuple[set[str], Path]:
    """What had been answered by then, and the files as they stood; what came last is torn."""
    time.sleep(chance.uniform(0.3, 1.2))
    answered = answered_by(workers)
    os.killpg(group.leader, signal.SIGSTOP)
    try:
        while still_running(group.leader):
            time.sleep(0.01)
        folder.mkdir()
        name = Path(connection.settings_dict["NAME"])
        for part in ("", "-wal"):
            if (source := Path(f"{name}{part}")).exists():
                shutil.copy(source, folder / f"cut.sqlite3{part}")
    finally:
        os.killpg(group.leader, signal.SIGCONT)
    with (folder / "cut.sqlite3-wal").open("ab") as log:
        log.write(chance.randbytes(chance.randrange(1, 9000)))
    return answered, folder / "cut.sqlite3"


def still_running(leader: int) -> bool:
    """Does any thread of this process group go on? Each stops when the system comes to it (proc(5): T, stopped)."""
    for stat in Path("/proc").glob("[0-9]*/task/[0-9]*/stat"):
        with contextlib.suppress(OSError):  # it is gone
            state, _, group = stat.read_text().rpartition(")")[2].split()[:3]
            if int(group) == leader and state not in "TZX":
                return True
    return False


def lost_in(image: Path, answered: set[str]) -> list[str]:
    """What is wrong with a database that comes up again after the cut."""
    database = sqlite3.connect(image)
    (sound,) = database.execute("PRAGMA integrity_check").fetchone()
    wrong = [] if sound == "ok" else [sound]
    ledger, arrivals = (
        {row[0].replace("-", "") for row in database.execute(f"SELECT id FROM {table}")}
        for table in ("buildlog_ledgerentry", "buildlog_arrival")
    )
    wrong += [f"{i} was answered and is gone" for i in answered if i.replace("-", "") not in ledger & arrivals]
    sums = "SELECT code, populated, (SELECT COALESCE(SUM(pixels), 0) FROM buildlog_ledgerentry WHERE segment_id = s.id)"
    wrong += [
        f"{code}: {shown}, not {total}"
        for code, shown, total in database.execute(f"{sums} FROM buildlog_segment s")
        if shown != total
    ]
    database.close()
    return wrong


def test_the_proof_notices_what_is_missing(group, workers, tmp_path):
    """A disk that kept nothing of what was written since a moment is found wanting of all that was answered since."""
    group.start()
    _, image = cut(group, workers, tmp_path / "cut", Random(1))
    queue, deadline = [workers[0]._make() for _ in range(20)], time.monotonic() + 60
    while queue and time.monotonic() < deadline:  # an answer may take longer than a tablet has patience
        queue = workers[0]._send(queue)
    answered = answered_by(workers)
    assert answered
    assert lost_in(image, answered) == [f"{i} was answered and is gone" for i in answered]
