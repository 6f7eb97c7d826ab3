"""A page while connections are held without use, beside the same page when it is quiet, with and without TLS.

Fifty of each way that a connection can be held (`tests/floor/holding.py`), one way after the other; quiet and held take
turns, so what else the machine does reaches both.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from tests.bench import Figure
from tests.floor.holding import WAYS, Way, held, until_closed
from tests.served import ROOT, Served

EACH, SECONDS, PATIENCE = 50, 5.0, 20.0


def figures() -> Iterator[Figure]:
    from buildlog.certificates import certify

    with tempfile.TemporaryDirectory(prefix="buildlog-bench-") as folder:
        environment = _environment(Path(folder))
        subprocess.run([sys.executable, "manage.py", "migrate", "-v0"], cwd=ROOT, env=environment, check=True)
        certify(Path(folder) / "tls", ["127.0.0.1"], datetime.now(UTC))
        for name, tls in (("http", None), ("https", Path(folder) / "tls")):
            server = Served.begin(environment, tls)
            try:
                server.until_it_answers()
                yield from _of(name, server)
            finally:
                server.kill()


def _of(name: str, server: Served) -> Iterator[Figure]:
    ratios, last = [], 0.0
    for way in WAYS:
        if way.handshake or server.tls:
            ratio, closed = _held_beside_quiet(server, way)
            yield Figure(f"{name}, {EACH} {way.name}: page, 95 of 100, beside quiet", ratio, "×")
            ratios, last = [*ratios, ratio], max(last, closed)
    yield Figure(f"{name}, middle of all ways", median(ratios), "×")
    yield Figure(f"{name}, all closed after", last, "s")


def _held_beside_quiet(server: Served, way: Way) -> tuple[float, float]:
    quiet = _pages(server)
    with held(server, (way,), EACH) as groups:
        during = _pages(server)
        until_closed(groups, PATIENCE)
        assert not groups[0].left, f"{groups[0].left} are still open"
    return _p95(during) / _p95(quiet + _pages(server)), groups[0].last


def _pages(server: Served) -> list[float]:
    taken, end = [], time.monotonic() + SECONDS
    while time.monotonic() < end:
        begun = time.perf_counter()
        assert server.ask("/first-run/") == 200
        taken.append(time.perf_counter() - begun)
        time.sleep(0.005)
    return taken


def _p95(taken: list[float]) -> float:
    return sorted(taken)[int(len(taken) * 0.95)]


def _environment(folder: Path) -> dict[str, str]:
    (folder / "static").mkdir()
    return os.environ | {
        "BUILDLOG_DATA": str(folder),
        "DATABASE_URL": f"sqlite:///{folder}/db.sqlite3",
        "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings",
        "FLOOR_ADDRESSES": "buildlog.urls",
    }
