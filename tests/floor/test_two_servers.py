"""Two app servers and two processes that look after forecasts, on one PostgreSQL behind one address: what one knows the
other knows, and killing any of them loses nothing.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from random import Random
from threading import Thread
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.db import connection

from buildlog.models import Build, LedgerEntry, PasswordTry, Person
from tests.floor import faults
from tests.floor.front import Front
from tests.floor.workday import Worker, address_of_test_database, hire
from tests.people import client_of
from tests.served import ROOT, Served

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor == "sqlite", reason="several servers need a database that is one itself"),
]
SECRETS = ("secret-key", "pin-pepper")
LOCKED = "5 wrong passwords for this name"
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture(scope="module")
def environments(django_db_setup, tmp_path_factory) -> list[dict[str, str]]:
    """Two machines: folders of their own, the same secrets, the same database."""
    made = []
    for name in ("one", "two"):
        folder = tmp_path_factory.mktemp(name)
        (folder / "static").mkdir()
        for secret in SECRETS:
            shutil.copy(settings.DATA_DIR / secret, folder)
        made.append(
            os.environ
            | {
                "BUILDLOG_DATA": str(folder),
                "DATABASE_URL": address_of_test_database(),
                "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings",
                "FLOOR_ADDRESSES": "buildlog.urls",
            }
        )
    return made


@pytest.fixture(scope="module")
def front(environments) -> Iterator[Front]:
    servers = [Served.begin(environment) for environment in environments]
    front = Front(servers)
    try:
        for server in servers:
            server.until_it_answers()
        yield front
    finally:
        front.close()
        for server in front.servers:
            server.kill()


def cookies_of(person: Person) -> dict[str, str]:
    return {"Cookie": "; ".join(f"{name}={one.value}" for name, one in client_of(person).cookies.items())}


def page(server: Served, path: str, headers: dict[str, str]) -> str:
    connection = server.connection()
    connection.request("GET", path, headers=headers)
    answer = connection.getresponse()
    assert answer.status == 200, (path, answer.status)
    said = answer.read().decode()
    connection.close()
    return said


def test_who_is_signed_in_at_one_is_signed_in_at_the_other(front, lead, helper):
    for person, path in ((lead, "/b/SHED/crew/"), (helper, "/b/SHED/today/")):
        headers = cookies_of(person)
        assert [server.ask(path, headers=headers) for server in front.servers] == [200, 200]


def test_what_is_ticked_at_one_is_on_the_map_of_the_other(front, shed, lead, helper):
    one, other = front.servers
    headers = cookies_of(lead)
    before = populated(other, headers)
    (worker,) = hire(shed, one, Random(1), ThreadPoolExecutor(1), 1, 5, 1)
    worker.codes = ["R1-1"]
    send_all(worker, one)
    assert populated(other, headers) == populated(one, headers) != before


def populated(server: Served, headers: dict[str, str]) -> list[str]:
    return re.findall(r"[\d,]+ of [\d,]+", page(server, "/b/SHED/segments/R1-1/", headers))


def send_all(worker: Worker, server: Served) -> None:
    batch = worker.tablet.batch([worker._make() for _ in range(worker.entries)], datetime.now(UTC))
    assert server.ask(worker.wire.path, "POST", json.dumps(batch).encode(), worker.wire.headers) == 200


def test_passwords_are_guessed_at_both_as_if_it_were_one(front, lead):
    one, other = front.servers
    for minutes in range(2, 6):
        PasswordTry.objects.create(name="otto", at=datetime.now(UTC) - timedelta(minutes=minutes))
    assert LOCKED not in guess(one, "otto")
    assert LOCKED in guess(other, "otto")


def guess(server: Served, name: str) -> str:
    connection = server.connection()
    connection.request("GET", "/sign-in/")
    answer = connection.getresponse()
    token = re.search(r"csrftoken=([^;]+)", answer.headers["Set-Cookie"])[1]
    answer.read()
    body = urlencode({"csrfmiddlewaretoken": token, "username": name, "password": "not this"}).encode()
    connection.request("POST", "/sign-in/", body, FORM | {"Cookie": f"csrftoken={token}"})
    said = connection.getresponse().read().decode()
    connection.close()
    return said


def test_killing_any_of_them_loses_nothing_that_was_answered(front, shed, environments, monkeypatch):
    monkeypatch.setattr(faults, "FAULTS", {})
    workers = hire(shed, Patient(front), Random(3), ThreadPoolExecutor(1), 4, 150, 6)
    connection.close()
    threads = [Thread(target=worker.work) for worker in workers]
    for thread in threads:
        thread.start()
    for number in (0, 1, 0):
        time.sleep(1)
        front.servers[number].kill()
        time.sleep(1)
        front.servers[number] = Served.begin(environments[number])
        front.servers[number].until_it_answers()
    for thread in threads:
        thread.join(300)
    made = {i for worker in workers for i in worker.made}
    answered = {i for worker in workers for i, said in worker.said.items() if said in ("stored", "had")}
    kept = [str(pk) for pk in LedgerEntry.objects.values_list("pk", flat=True)]
    assert made and answered <= set(kept) and len(kept) == len(set(kept))
    assert {i for worker in workers for i in worker.said} == made, "an entry was never answered"


class Patient:
    """Asks at the one address; a connection that breaks off is an error that a tablet knows."""

    def __init__(self, front: Front) -> None:
        self.front = front

    def ask(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, bytes]:
        asked = self.front.connection(timeout=10)
        try:
            asked.request(method, path, body, headers)
            answer = asked.getresponse()
            return answer.status, answer.read()
        except http.client.HTTPException as broken:
            raise ConnectionError(str(broken)) from broken
        finally:
            asked.close()


@pytest.fixture
def tending(environments) -> Iterator[list[subprocess.Popen]]:
    command = [sys.executable, "manage.py", "tend", "--every", "0.5"]
    helpers = [subprocess.Popen(command, cwd=ROOT, env=environment) for environment in environments]
    yield helpers
    for helper in helpers:
        if helper.poll() is None:
            helper.send_signal(signal.SIGKILL)
            helper.wait()


def test_two_that_look_after_forecasts_make_each_once_and_one_goes_on_alone(shed, helper, tending):
    now = datetime.now(UTC)
    shift(helper, now, 1)
    connection.close()
    until(lambda: forecasts(shed) == 1)
    time.sleep(3)
    assert forecasts(shed) == 1, "both made one of the same"
    first = shed.forecasts.get().follows_from
    tending[0].kill()
    tending[0].wait()
    shift(helper, now, 2)
    until(lambda: shed.forecasts.newest_first().first().follows_from != first)
    assert tending[1].poll() is None


def forecasts(build: Build) -> int:
    return build.forecasts.count()


def shift(person: Person, now: datetime, day: int) -> None:
    begins = now + timedelta(days=day)
    person.shifts.create(starts_at=begins, ends_at=begins + timedelta(hours=4))


def until(true: Callable[[], bool], seconds: float = 120) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it never came to that"
        time.sleep(0.3)
