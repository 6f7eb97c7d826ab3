"""Ticks through the real endpoint beside the least a write can be: one bare INSERT, same server, same database.

The server is the one of `serve`; sixteen tablets at once send one tick a
request, as a tablet with a network does. Bare INSERTs and ticks take turns in short rounds and the middle ratio
counts, because what else the machine does comes and goes. Then the process that `serve` starts beside the app computes
forecasts of the demo and answers a question, while ticks go on. On SQLite, and on a throw-away PostgreSQL where there
is one: `python tests/postgres.py python -m tests.bench.bench_ticks` prints its figures as JSON.
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
from dataclasses import asdict
from datetime import UTC, datetime
from itertools import cycle
from pathlib import Path
from random import Random
from statistics import median

from tests.bench import Figure
from tests.postgres import find_programs

ROOT = Path(__file__).resolve().parents[2]
AT_ONCE, TABLETS, SECONDS, ROUNDS = 16, 160, 1.5, 9  # tablets in turn, or one would ask too often and be put off
Request = tuple[str, bytes, dict[str, str]]


def figures() -> Iterator[Figure]:
    yield from _here()
    if "DATABASE_URL" not in os.environ and find_programs() is not None:
        command = [sys.executable, "tests/postgres.py", sys.executable, "-m", "tests.bench.bench_ticks"]
        said = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True).stdout
        yield from (Figure(**json.loads(line)) for line in said.splitlines() if line.startswith("{"))


def _here() -> Iterator[Figure]:
    """On the database of the settings."""
    with tempfile.TemporaryDirectory(prefix="buildlog-bench-") as folder:
        workers = _prepare(Path(folder))
        environment = _environment(Path(folder))
        name = "SQLite" if environment["DATABASE_URL"].startswith("sqlite") else "PostgreSQL without fsync"
        with _Served(environment) as port:
            yield from _beside_bare(name, port, workers)
            yield from _beside_forecasts(name, port, workers, environment)


def _beside_bare(name: str, port: int, workers: Iterator) -> Iterator[Figure]:
    bare, ticks = [], []
    _measure(port, [_ticking(workers) for _ in range(AT_ONCE)])  # everything is loaded once
    for _ in range(ROUNDS):
        bare.append(_measure(port, [_bare for _ in range(AT_ONCE)]))
        ticks.append(_measure(port, [_ticking(workers) for _ in range(AT_ONCE)]))
    pairs = list(zip(bare, ticks, strict=True))
    ratios = sorted(tick.rate / plain.rate for plain, tick in pairs)
    yield Figure(f"{name}: bare INSERTs a second", median(one.rate for one in bare), "1/s")
    yield Figure(f"{name}: ticks a second", median(one.rate for one in ticks), "1/s")
    yield Figure(f"{name}: ticks beside bare INSERTs, middle of {ROUNDS} rounds", median(ratios), "×")
    yield Figure(f"{name}: the same, least and most", ratios[0], f"to {ratios[-1]:.2f} ×")
    yield Figure(f"{name}: tick, 95 of 100 within", median(one.p95 for one in ticks) * 1000, "ms")
    slow = median(tick.p95 / plain.p95 for plain, tick in pairs)
    yield Figure(f"{name}: 95 of 100, tick beside bare INSERT", slow, "×")


def _beside_forecasts(name: str, port: int, workers: Iterator, environment: dict[str, str]) -> Iterator[Figure]:
    """The demo's forecasts of three weeks and its question keep the process beside the app busy for a while."""
    from buildlog.management.commands.serve import tending

    asks = [_ticking(workers) for _ in range(AT_ONCE)]
    before = [_measure(port, asks) for _ in range(ROUNDS // 2)]
    kept = dict(os.environ)
    os.environ.update(environment)
    try:
        with tending() as helper:
            _until_at_work(helper.pid)
            begun, used = time.monotonic(), _processor_seconds(helper.pid)
            during = [_measure(port, asks) for _ in range(ROUNDS // 2)]
            took, used = time.monotonic() - begun, _processor_seconds(helper.pid) - used
            alone, rest = time.monotonic(), _processor_seconds(helper.pid)
            time.sleep(SECONDS)
            alone, rest = time.monotonic() - alone, _processor_seconds(helper.pid) - rest
            low = os.getpriority(os.PRIO_PROCESS, helper.pid)
    finally:
        os.environ.clear()
        os.environ.update(kept)
    after = [_measure(port, asks) for _ in range(ROUNDS // 2)]
    usual = median(one.rate for one in before + after)
    yield Figure(f"{name}: ticks while forecasts are made, beside none", median(o.rate for o in during) / usual, "×")
    slow = median(one.p95 for one in during) / median(one.p95 for one in before + after)
    yield Figure(f"{name}: 95 of 100, the same", slow, "×")
    yield Figure(f"{name}: processors used by the forecasts meanwhile", used / took, f"of {os.cpu_count()}")
    yield Figure(f"{name}: the same when no ticks come, at priority {low}", rest / alone, f"of {os.cpu_count()}")


def _until_at_work(pid: int) -> None:
    """Python and the compiled trials are loaded before the first forecast."""
    end = time.monotonic() + 120
    while _processor_seconds(pid) < 4:
        assert time.monotonic() < end, "the process beside the app did not begin"
        time.sleep(0.2)


def _processor_seconds(pid: int) -> float:
    """User and system time so far; Linux only."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _prepare(folder: Path) -> Iterator:
    """A database of its own, with a build, and tablets whose entries nothing stands in the way of; and the demo."""
    from django.conf import settings
    from django.contrib.auth.models import User
    from django.core.management import call_command
    from django.db import connection

    if connection.vendor == "sqlite":
        connection.close()
        connection.settings_dict["NAME"] = str(folder / "bench.sqlite3")
        settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"]
    call_command("migrate", verbosity=0)
    from buildlog import demo
    from buildlog.actions import questions
    from tests.floor.tablet import Tablet
    from tests.people import begin_build, give_device, join_crew

    now = datetime.now(UTC)
    shown = demo.load(lead=User.objects.create_superuser("demo-lead"), now=now)
    questions.what_it_takes(build=shown, percent=80, now=now)
    build = begin_build("SHED", now=now)
    build.segments.update(pixels=1_000_000)
    workers = []
    for n in range(TABLETS):
        tablet = Tablet(*give_device(build, f"Tablet {n}"), chance=Random(n))
        workers.append((tablet, tablet.word_of(join_crew(build, f"Helper {n}"), datetime.now(UTC))))
    connection.close()
    return cycle(workers)


def _environment(folder: Path) -> dict[str, str]:
    """The same database for the server and the process beside it."""
    from django.conf import settings

    return os.environ | {
        "DATABASE_URL": os.environ.get("DATABASE_URL", f"sqlite:///{folder}/bench.sqlite3"),
        "BUILDLOG_DATA": str(settings.DATA_DIR),
        "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings",
    }


def _bare() -> Request:
    return "/b/SHED/bare/", b"", {}


def _ticking(workers: Iterator) -> Callable[[], Request]:
    def one() -> Request:
        tablet, word = next(workers)
        now = datetime.now(UTC)
        entry = tablet.entry("tick", word, now, segment="R1-1", stage="populate", pixels=1)
        headers = {"Content-Type": "application/json", "Cookie": f"device-SHED={tablet.key}"}
        return "/b/SHED/entries/", json.dumps(tablet.batch([entry], now)).encode(), headers

    return one


class _Served:
    def __init__(self, environment: dict[str, str]) -> None:
        from tests.floor.faults import free_port

        self.port, self.environment = free_port(), environment

    def __enter__(self) -> int:
        code = "from buildlog.management.web_server import run_server as run; "
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
        return _ask(port, ("/alive/", b"", {}), "GET") in (200, 404)  # the app's own addresses have none such
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


if __name__ == "__main__":
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    for figure in _here():
        print(json.dumps(asdict(figure)), flush=True)
