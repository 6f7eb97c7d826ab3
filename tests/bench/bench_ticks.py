"""Ticks through the real endpoint beside the least a write can be: one bare INSERT, same server, same database.

The server is the one of `serve` (granian, two workers of four threads); sixteen tablets send one tick a request, as
a tablet with a network does. Single runs on a busy machine vary by a third; the ratios less.
"""

from __future__ import annotations

import http.client
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from random import Random

from tests.bench import Figure

ROOT = Path(__file__).resolve().parents[2]
TABLETS, SECONDS = 16, 6.0
Request = tuple[str, bytes, dict[str, str]]


def figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory(prefix="buildlog-bench-") as folder:
        workers = _prepare(Path(folder))
        with _Served(Path(folder)) as port:
            bare = _measure(port, [_bare for _ in workers])
            ticks = _measure(port, [_ticking(worker) for worker in workers])
    yield Figure("bare INSERTs a second", bare.rate, "1/s")
    yield Figure("ticks a second", ticks.rate, "1/s")
    yield Figure("ticks beside bare INSERTs", ticks.rate / bare.rate, "×")
    yield Figure("bare INSERT, 95 of 100 within", bare.p95 * 1000, "ms")
    yield Figure("tick, 95 of 100 within", ticks.p95 * 1000, "ms")
    yield Figure("95 of 100, tick beside bare INSERT", ticks.p95 / bare.p95, "×")


def _prepare(folder: Path) -> list:
    """A database of its own, with a build, and tablets whose entries nothing stands in the way of."""
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection

    connection.close()
    connection.settings_dict["NAME"] = str(folder / "bench.sqlite3")
    settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"]
    call_command("migrate", verbosity=0)
    from tests.floor.tablet import Tablet
    from tests.people import begin_build, give_device, join_crew

    build = begin_build("SHED", now=datetime.now(UTC))
    build.segments.update(pixels=1_000_000)
    workers = []
    for n in range(TABLETS):
        tablet = Tablet(*give_device(build, f"Tablet {n}"), chance=Random(n))
        workers.append((tablet, tablet.word_of(join_crew(build, f"Helper {n}"), datetime.now(UTC))))
    connection.close()
    return workers


def _bare() -> Request:
    return "/b/SHED/bare/", b"", {}


def _ticking(worker) -> Callable[[], Request]:
    tablet, word = worker
    headers = {"Content-Type": "application/json", "Cookie": f"device-SHED={tablet.key}"}

    def one() -> Request:
        now = datetime.now(UTC)
        entry = tablet.entry("tick", word, now, segment="R1-1", stage="populate", pixels=1)
        return "/b/SHED/entries/", json.dumps(tablet.batch([entry], now)).encode(), headers

    return one


class _Served:
    def __init__(self, folder: Path) -> None:
        from django.conf import settings

        from tests.floor.faults import free_port

        self.port = free_port()
        self.environment = os.environ | {
            "DATABASE_URL": f"sqlite:///{folder}/bench.sqlite3",
            "BUILDLOG_DATA": str(settings.DATA_DIR),
            "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings",
        }

    def __enter__(self) -> int:
        code = "from buildlog.management.commands.serve import run_server as run; "
        code = f"import django; django.setup(); {code}run('127.0.0.1', {self.port})"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code], cwd=ROOT, env=self.environment, start_new_session=True
        )
        end = time.monotonic() + 60
        while not _answers(self.port):
            assert time.monotonic() < end, "the server did not start"
            time.sleep(0.1)
        return self.port

    def __exit__(self, *_) -> None:
        os.killpg(self.process.pid, signal.SIGTERM)
        self.process.wait(20)


def _answers(port: int) -> bool:
    try:
        return _ask(port, ("/alive/", b"", {}), "GET") == 200
    except OSError:
        return False


def _ask(port: int, request: Request, method: str = "POST") -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    path, body, headers = request
    try:
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        answer.read()
        return answer.status
    finally:
        connection.close()


class _Measured:
    def __init__(self, taken: list[float], seconds: float) -> None:
        self.rate = len(taken) / seconds
        self.p95 = sorted(taken)[int(len(taken) * 0.95)]


def _measure(port: int, asks: list[Callable[[], Request]]) -> _Measured:
    taken: list[float] = []
    failed: list[int] = []
    over = time.monotonic() + SECONDS

    def one(ask: Callable[[], Request]) -> None:
        while time.monotonic() < over:
            request, start = ask(), time.perf_counter()
            status = _ask(port, request)
            taken.append(time.perf_counter() - start)
            if status != 200:
                failed.append(status)

    threads = [threading.Thread(target=one, args=[ask]) for ask in asks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed, f"{len(failed)} requests failed: {set(failed)}"
    return _Measured(taken, SECONDS)
