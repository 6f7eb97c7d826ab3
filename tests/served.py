"""The app as `serve` runs it, without its announcements: a process on a port and a data folder of its own."""

from __future__ import annotations

import http.client
import os
import signal
import ssl
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.floor.faults import free_port

ROOT = Path(__file__).resolve().parent.parent
RUN = """
import sys, django
django.setup()
from pathlib import Path
from buildlog.certificates import Files
from buildlog.management.web_server import run_server
run_server("127.0.0.1", int(sys.argv[1]), Files.within(Path(sys.argv[2])) if sys.argv[2:] else None)
"""
TRUST = ssl.create_default_context()
TRUST.check_hostname, TRUST.verify_mode = False, ssl.CERT_NONE  # who it is, is tested elsewhere


@dataclass
class Served:
    """One running server; ``address`` is its scheme, host and port."""

    process: subprocess.Popen
    port: int
    tls: bool

    @classmethod
    def begin(cls, environment: dict[str, str], tls: Path | None = None) -> Served:
        """``tls`` is a folder with authority, certificate and key."""
        port = free_port()
        command = [sys.executable, "-c", RUN, str(port), *([str(tls)] if tls else [])]
        process = subprocess.Popen(command, cwd=ROOT, env=environment, start_new_session=True)
        return cls(process, port, tls is not None)

    def until_it_answers(self, path: str = "/healthz", seconds: float = 90) -> None:
        end = time.monotonic() + seconds
        while True:
            assert self.process.poll() is None, "the server ended"
            try:
                return assert_status(self.ask(path), 200)
            except OSError:
                assert time.monotonic() < end, "the server did not start"
                time.sleep(0.1)

    def connection(self, timeout: float = 30) -> http.client.HTTPConnection:
        if self.tls:
            return http.client.HTTPSConnection("127.0.0.1", self.port, timeout=timeout, context=TRUST)
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)

    def ask(self, path: str, method: str = "GET", body: bytes | None = None, headers=None, timeout: float = 30) -> int:
        connection = self.connection(timeout)
        try:
            connection.request(method, path, body, headers or {})
            answer = connection.getresponse()
            answer.read()
            return answer.status
        finally:
            connection.close()

    def processes(self) -> list[int]:
        """The leader of the group and its workers; Linux only."""
        numbers = [int(path.name) for path in Path("/proc").iterdir() if path.name.isdigit()]
        return [number for number in numbers if _group_of(number) == self.process.pid]

    def stop(self, within: float = 40) -> int:
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(within)

    def kill(self) -> None:
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(10)


def assert_status(status: int, wanted: int) -> None:
    assert status == wanted, f"{status} instead of {wanted}"


def _group_of(number: int) -> int | None:
    try:
        return os.getpgid(number)
    except ProcessLookupError:
        return None
