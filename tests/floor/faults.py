"""A fault maker between tablets and server: requests cut, delayed, doubled; the server killed; tablets restarted.

Everything that chance decides comes from one seed. What the operating system decides (when exactly a process dies)
does not, which is the point.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from itertools import count
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
FAULTS = {"cut before": 0.13, "cut after": 0.13, "delayed": 0.09, "doubled": 0.13}  # shares of requests; 48 % in all
PATIENCE = 4.0
_GIVEN: list[int] = []  # ports


NUMBER = int("".join(filter(str.isdigit, os.environ.get("PYTEST_XDIST_WORKER", ""))) or 0)
PORTS = count(20_000 + 2_000 * (NUMBER % 6) + os.getpid() % 1_500)  # a stretch of its own for each process of the tests


def free_port() -> int:
    """Below those that the system gives to clients: a client that calls a dead server from the server's own number
    would be connected to itself, and hold the port. None is given twice."""
    for port in PORTS:
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise AssertionError("no free port")


class ServerGroup:
    """The server and its workers, in a process group that can be killed at once; see `tests/floor/server.py`."""

    def __init__(self, environment: dict[str, str], without_guard: str = "") -> None:
        self.port = free_port()
        self.leader = 0
        self.kills = 0
        self.source = subprocess.Popen(
            [sys.executable, "-m", "tests.floor.server", str(self.port)],
            cwd=ROOT, env=os.environ | environment | {"WITHOUT_GUARD": without_guard},
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            stderr=subprocess.DEVNULL if without_guard else None,
        )  # fmt: skip
        assert self.source.stdout.readline() == "loaded\n", "the app could not be loaded"

    def start(self) -> None:
        self.source.stdin.write("start\n")
        self.source.stdin.flush()
        self.leader = int(self.source.stdout.readline() or 0)
        assert self.leader, "the server could not listen on its port"

    def kill(self) -> None:
        if self.leader:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.leader, signal.SIGKILL)
            self.leader = 0
            self.kills += 1

    def close(self) -> None:
        self.kill()
        self.source.stdin.close()
        self.source.wait(60)
        self.source.stdout.close()

    def ask(self, method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None, timeout=PATIENCE):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        try:
            connection.request(method, path, body or None, headers or {})
            answer = connection.getresponse()
            return answer.status, answer.read()
        except http.client.HTTPException as broken:
            raise ConnectionError(str(broken)) from broken
        finally:
            connection.close()


class Killer(threading.Thread):
    """Kills the group after it has been up for 1 to 4 s, again and again, and starts it anew."""

    def __init__(self, group: ServerGroup, chance: Random) -> None:
        super().__init__(daemon=True)
        self.group, self.chance, self.over = group, chance, threading.Event()

    def run(self) -> None:
        while not self.over.wait(self.chance.uniform(1, 4)):
            self.group.kill()
            self.over.wait(self.chance.uniform(0, 0.5))  # nobody there at all for a while
            self.group.start()


class Wire:
    """What lies between one tablet and the server."""

    def __init__(self, group: ServerGroup, path: str, cookie: str, chance: Random, late: ThreadPoolExecutor) -> None:
        self.group, self.path, self.chance, self.late = group, path, chance, late
        self.headers = {"Content-Type": "application/json", "Cookie": cookie}
        self.requests = self.faults = 0

    def post(self, batch: dict[str, Any]) -> dict[str, Any]:
        """Send a batch through whatever fault comes up. Raises OSError when the tablet hears no answer."""
        self.requests += 1
        body = json.dumps(batch).encode()
        fault = self._draw()
        self.faults += fault is not None
        if fault == "cut before":
            raise ConnectionError(fault)
        if fault == "delayed":
            self.late.submit(self._later, body, self.chance.uniform(0.2, 2.0))
            raise ConnectionError(fault)
        if fault == "doubled":
            self.late.submit(self._later, body, 0)
        status, answer = self._now(body)
        if fault == "cut after" or status != 200:
            raise ConnectionError(fault or f"status {status}")
        try:
            return json.loads(answer)
        except ValueError as cut:
            raise ConnectionError("the answer broke off") from cut

    def _draw(self) -> str | None:
        drawn = self.chance.random()
        for fault, share in FAULTS.items():
            if drawn < share:
                return fault
            drawn -= share
        return None

    def _now(self, body: bytes) -> tuple[int, bytes]:
        return self.group.ask("POST", self.path, body, self.headers)

    def _later(self, body: bytes, delay: float) -> None:
        time.sleep(delay)
        with contextlib.suppress(OSError):
            self._now(body)
