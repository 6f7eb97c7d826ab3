"""The site goes on while many connections are held open without use, and they are closed; what is too large is refused
before it is kept; what is merely slow goes through; what was begun is answered before the server stops.

The running server, with and without TLS. Figures: `python -m tests.bench sockets`.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from buildlog.certificates import certify
from tests.floor.holding import POST, WAYS, held, until_closed
from tests.served import ROOT, TRUST, Served

EACH = 50
CLOSED_WITHIN = 25.0  # ten seconds of patience, and what a machine takes that many tests share
ANSWER_WITHIN = 8.0  # a page on such a machine; those who hold on, hold for ten
LARGE = 300_000_000


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """A data folder, and beside it the one that the server keeps its temporary files in."""
    made = tmp_path_factory.mktemp("data")
    for name in ("aside", "static"):
        (made / name).mkdir()
    manage = [sys.executable, "manage.py", "migrate", "-v0"]
    subprocess.run(manage, cwd=ROOT, env=environment(made), check=True, timeout=120)
    certify(made / "tls", ["127.0.0.1"], datetime.now(UTC))
    return made


def environment(folder: Path) -> dict[str, str]:
    return os.environ | {
        "BUILDLOG_DATA": str(folder),
        "DATABASE_URL": f"sqlite:///{folder}/db.sqlite3",
        "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings",
        "FLOOR_ADDRESSES": "buildlog.urls",
        "TMPDIR": str(folder / "aside"),
    }


@pytest.fixture(scope="module", params=["http", "https"])
def server(request, folder) -> Iterator[Served]:
    running = Served.begin(environment(folder), folder / "tls" if request.param == "https" else None)
    try:
        running.until_it_answers()
        yield running
    finally:
        running.kill()


def pages(server: Served, seconds: float) -> list[float]:
    """How long a page took, again and again [s]."""
    taken, end = [], time.monotonic() + seconds
    while time.monotonic() < end:
        begun = time.monotonic()
        assert server.ask("/first-run/", timeout=ANSWER_WITHIN) == 200
        taken.append(time.monotonic() - begun)
    return taken


def test_pages_are_answered_while_connections_are_held_and_all_of_those_are_closed(server):
    ways = tuple(way for way in WAYS if server.tls or way.handshake)
    slow = threading.Thread(target=lambda: answers.append(send_slowly(server)))
    answers: list[int] = []
    with held(server, ways, EACH) as groups:
        slow.start()
        assert len(pages(server, 6)) > 5
        until_closed(groups, CLOSED_WITHIN)
    assert {group.way.name: group.left for group in groups} == {way.name: 0 for way in ways}
    assert min(group.first for group in groups) > 3, "they were not held while pages were asked for"
    assert max(group.last for group in groups) < CLOSED_WITHIN
    slow.join(30)
    assert answers == [403], "what came slowly was not read to its end (the app refuses it: no form was asked for)"


def send_slowly(server: Served) -> int:
    """A file at 20 kB a second, for longer than any pause may be."""
    connection = server.connection()
    connection.putrequest("POST", "/new-build/packed/")
    connection.putheader("Content-Type", "multipart/form-data; boundary=x")
    connection.putheader("Content-Length", str(13 * 20_000))
    connection.endheaders()
    for _ in range(13):
        connection.send(b"x" * 20_000)
        time.sleep(1)
    return connection.getresponse().status


@pytest.mark.parametrize("says", ["its length", "no length"])
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
def test_what_is_too_large_is_refused_before_it_is_kept(server, folder, says):
    server.ask("/sign-in/")
    before = sum(map(most_memory, server.processes()))
    assert send_large(server, chunked=says == "no length").startswith(b"HTTP/1.1 413")
    assert sum(map(most_memory, server.processes())) - before < 32_000_000
    assert not list((folder / "aside").iterdir())


def send_large(server: Served, chunked: bool) -> bytes:
    made = socket.create_connection(("127.0.0.1", server.port), timeout=10)
    made = TRUST.wrap_socket(made) if server.tls else made
    made.sendall(POST + (b"Transfer-Encoding: chunked" if chunked else b"Content-Length: %d" % LARGE) + b"\r\n\r\n")
    block, sent = b"x" * 65536, 0
    try:
        while sent < LARGE:
            made.sendall(b"10000\r\n" + block + b"\r\n" if chunked else block)
            sent += len(block)
    except OSError:
        pass
    with made:
        return made.recv(100)


def most_memory(number: int) -> int:
    """The most that a process has used so far [bytes]."""
    lines = Path(f"/proc/{number}/status").read_text().splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM"))


def test_what_was_begun_is_answered_before_it_stops(folder):
    running = Served.begin(environment(folder))
    try:
        running.until_it_answers()
        connection = running.connection()
        connection.putrequest("POST", "/sign-in/")
        connection.putheader("Content-Length", "8")
        connection.endheaders(b"a=1&")
        time.sleep(0.5)
        running.process.terminate()
        time.sleep(1)
        connection.send(b"b=2&")
        assert connection.getresponse().status == 403  # read to its end and answered by the app
        assert running.process.wait(20) == 0
        with pytest.raises(OSError):
            running.ask("/healthz", timeout=2)
    finally:
        running.kill()
