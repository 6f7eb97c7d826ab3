"""What a disk can do to the database while people work: full, read-only, held by another program, damaged, gone.

Each time the same is asked: nothing is answered as stored that is not, people read a sentence and no traceback, and
once the disk is well again a tablet sends what it kept and all of it is there, once.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.test import Client

from buildlog.actions.write_queue import write_queue
from buildlog.backups import sqlite
from buildlog.core.errors import Refused
from buildlog.models import LedgerEntry, Segment
from tests.floor.conftest import outcomes, post_batch
from tests.floor.tablet import Tablet
from tests.people import MONDAY

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps its own files"),
]
UNA = {"name": "Una", "initials": "", "role": "helper", "skills": ["mount"], "populate_limit_h": "2"}


@pytest.fixture
def file(shed, helper, lead, tmp_path, monkeypatch) -> Iterator[Path]:
    """The shed in a database file of its own, which may be bent and deleted."""
    folder = tmp_path / "data"
    folder.mkdir()
    copied = sqlite.copy(connection.settings_dict, folder)
    with closing(sqlite3.connect(copied)) as database:
        database.execute("VACUUM")  # without free pages of earlier tests: a full one has none
    connection.close()
    monkeypatch.setitem(connection.settings_dict, "NAME", str(copied))
    yield copied
    connection.close()


@pytest.fixture
def batch(shed, helper, tablet, file, server_clock) -> dict:
    """Enough ticks to need new pages of the file."""
    word = tablet.word_of(helper, MONDAY)
    ticks = [tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=1) for _ in range(20)]
    return tablet.batch(ticks, MONDAY)


@pytest.fixture
def lead_client(lead, file, sign_in) -> Client:
    client = sign_in(lead)
    client.raise_request_exception = False  # as the server does: what nobody catches is a 500
    return client


def pragma(text: str) -> object:
    with connection.cursor() as cursor:
        return cursor.execute(f"PRAGMA {text}").fetchone()


def assert_nothing_is_taken(client: Client, tablet: Tablet, batch: dict) -> None:
    """Neither from the tablet nor from the lead, who reads what to do."""
    sent = post_batch(tablet, batch)
    assert sent.status_code == 503 or outcomes(sent) == []
    assert_said(client.post("/b/SHED/crew/add/", UNA))


def assert_said(answer) -> None:
    text = answer.content.decode()
    assert answer.status_code == 503, answer.status_code
    assert "What was stored before is safe" in text and "Traceback" not in text


def assert_all_is_taken(tablet: Tablet, batch: dict) -> None:
    assert outcomes(post_batch(tablet, batch)) == ["stored"] * len(batch["entries"])
    assert LedgerEntry.objects.count() == len(batch["entries"]) == Segment.objects.get(code="R1-1").populated


def test_a_full_disk(file, tablet, batch, lead_client):
    """SQLite itself says that it is full: https://www.sqlite.org/pragma.html#pragma_max_page_count."""
    pragma(f"max_page_count={pragma('page_count')[0]}")
    with pytest.raises(SystemExit, match="1"):
        call_command("load", "crew", long_crew(file.parent), "--build", "SHED")
    assert outcomes(post_batch(tablet, batch)) == []
    assert LedgerEntry.objects.count() == 0
    assert lead_client.get("/b/SHED/today/").status_code == 200, "what is there can be read"
    pragma("max_page_count=1000000")
    assert_all_is_taken(tablet, batch)


def long_crew(folder: Path) -> Path:
    table = folder / "crew.csv"
    table.write_text("name\n" + "\n".join(f"Helper {number:04d} of the long row" for number in range(2_000)))
    return table


def test_a_disk_that_can_only_be_read(file, tablet, batch, lead_client, capsys):
    """As after an error of the disk, when the system goes on without writing to it."""
    pragma("query_only=1")
    assert_nothing_is_taken(lead_client, tablet, batch)
    assert lead_client.get("/b/SHED/today/").status_code == 200, "what is there can be read"
    with pytest.raises(SystemExit, match="1"):
        call_command("crew", "leave", "Marek", "--build", "SHED")
    assert "cannot be used at the moment (attempt to write a readonly database)" in capsys.readouterr().err
    pragma("query_only=0")
    assert_all_is_taken(tablet, batch)


def test_a_bent_page_is_said_and_nothing_is_taken(file, tablet, batch, lead_client, capsys):
    connection.close()  # what still lies beside the file goes into it
    sound = file.read_bytes()
    bend(file)
    assert_said(lead_client.get("/b/SHED/today/"))
    sent = post_batch(tablet, batch)
    assert sent.status_code == 503 or outcomes(sent) == []
    with pytest.raises(SystemExit, match="1"):
        call_command("forecast", "--build", "SHED")
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("The database is damaged (") and "restore FILE" in line
    connection.close()
    for beside in file.parent.glob(f"{file.name}-*"):
        beside.unlink()
    file.write_bytes(sound)
    assert_all_is_taken(tablet, batch)


def bend(file: Path) -> None:
    """Every page but the first, which says what there is: as after a write that went astray."""
    with file.open("r+b") as content:
        for page in range(1, file.stat().st_size // 4096):
            content.seek(page * 4096)
            content.write(b"\xff" * 64)


@pytest.mark.parametrize("gone", ["with its folder", "alone"])
def test_a_database_that_is_deleted_under_the_app(file, tablet, batch, lead_client, gone):
    """What is written to it from then on would be gone with the process: it is not answered as stored."""
    pragma("page_count")  # it is open
    for path in sorted(file.parent.iterdir()):
        path.unlink()
    if gone == "with its folder":
        file.parent.rmdir()
    assert post_batch(tablet, batch).status_code == 503
    assert_said(lead_client.get("/b/SHED/today/"))
    assert not file.exists(), "an empty one in its place would pass for the database"


def test_another_database_put_in_its_place(file, tablet, batch, lead_client):
    pragma("page_count")
    sqlite.copy(connection.settings_dict, file.parent.parent).replace(file)
    assert post_batch(tablet, batch).status_code == 503
    connection.close()
    assert_said(lead_client.get("/b/SHED/today/"))


def test_of_a_database_that_is_gone_no_backup_is_made(file, tmp_path):
    file.unlink()
    with pytest.raises(Refused, match="cannot be copied"):
        sqlite.copy(connection.settings_dict, tmp_path)
    assert not file.exists()


# ---- held by another program ----------------------------------------------------------------


@pytest.fixture
def hold(file) -> Iterator[Callable[[float], threading.Thread]]:
    """Another program writes for so many seconds: `hold(10)` begins it."""
    over, threads = threading.Event(), []

    def begin(seconds: float) -> threading.Thread:
        has_it = threading.Event()

        def keep() -> None:
            with closing(sqlite3.connect(file, isolation_level=None)) as other:
                other.execute("BEGIN IMMEDIATE")
                has_it.set()
                over.wait(seconds)
                other.execute("ROLLBACK")

        threads.append(threading.Thread(target=keep, daemon=True))
        threads[-1].start()
        assert has_it.wait(60)
        return threads[-1]

    yield begin
    over.set()
    for thread in threads:
        thread.join()


def test_a_lock_that_goes_in_time_is_waited_for(hold, tablet, batch):
    hold(0.3)
    assert_all_is_taken(tablet, batch)


def test_a_lock_that_stays_is_said(hold, tablet, batch, lead_client, capsys):
    pragma("busy_timeout=50")
    held = hold(3600)
    assert_nothing_is_taken(lead_client, tablet, batch)
    assert lead_client.get("/b/SHED/today/").status_code == 200, "who reads does not wait"
    assert held.is_alive()


@pytest.mark.long
@pytest.mark.parametrize(("seconds", "stored"), [(10, True), (30, False)])
def test_a_lock_of_ten_seconds_is_waited_for_and_one_of_thirty_is_not(hold, tablet, batch, seconds, stored):
    """A writer waits for 20 s (`checks.BUSY_TIMEOUT_MS`); the tablet keeps what was not answered and sends it again."""
    held = hold(seconds)
    assert outcomes(post_batch(tablet, batch)) == ["stored"] * len(batch["entries"]) * stored
    held.join()
    assert set(outcomes(post_batch(tablet, batch))) == ({"had"} if stored else {"stored"})
    assert Segment.objects.get(code="R1-1").populated == len(batch["entries"])


def test_the_queue_of_writers_stands_beside_the_file(file):
    with write_queue(), transaction.atomic():
        assert Path(f"{file}-turn").exists()
