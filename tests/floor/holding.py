"""Connections that are held open without use, as tablets out of reach do by chance and people on purpose."""

from __future__ import annotations

import socket
import ssl
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field

from tests.served import TRUST, Served

POST = b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"


@dataclass(frozen=True)
class Way:
    """How a connection is held: what is sent at first, and then again every second."""

    name: str
    first: bytes
    drip: bytes = b""
    handshake: bool = True


WAYS = (
    Way("silent in its body", POST + b"Content-Length: 1000\r\n\r\na=1"),
    Way("trickles its body", POST + b"Content-Length: 1000\r\n\r\na=1", b"x"),
    Way("trickles chunks", POST + b"Transfer-Encoding: chunked\r\n\r\n3\r\na=1\r\n", b"1\r\nx\r\n"),
    Way("silent in its headers", POST),
    Way("trickles headers", POST, b"X-Bit: 1\r\n"),
    Way("says nothing", b""),
    Way("silent after an answer", b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"),
    Way("shakes no hands", b"", handshake=False),
)


@dataclass
class Held:
    """Connections held in one way, and after how many seconds each was closed by the server."""

    way: Way
    sockets: list[socket.socket]
    begun: float = field(default_factory=time.monotonic)
    closed: dict[int, float] = field(default_factory=dict)

    def look(self, drip: bool) -> None:
        for number, held in enumerate(self.sockets):
            if number not in self.closed and not _open(held, self.way.drip if drip else b""):
                self.closed[number] = time.monotonic() - self.begun

    @property
    def left(self) -> int:
        return len(self.sockets) - len(self.closed)

    @property
    def first(self) -> float:
        return min(self.closed.values(), default=0.0)

    @property
    def last(self) -> float:
        return max(self.closed.values(), default=0.0)


def _open(held: socket.socket, drip: bytes) -> bool:
    try:
        while held.recv(65536):
            pass
        return False
    except (BlockingIOError, ssl.SSLWantReadError):
        pass
    except OSError:
        return False
    try:
        return not drip or held.send(drip) >= 0
    except (BlockingIOError, ssl.SSLWantWriteError):
        return True
    except OSError:
        return False


@contextmanager
def held(server: Served, ways: tuple[Way, ...], each: int) -> Iterator[list[Held]]:
    """So many connections of each way, watched until all are closed or the block ends."""
    over = threading.Event()
    with ThreadPoolExecutor(len(ways)) as pool:
        groups = list(pool.map(lambda way: Held(way, [_hold(server, way) for _ in range(each)]), ways))

    def watch() -> None:
        while not over.wait(0.25) and any(group.left for group in groups):
            for group in groups:
                group.look(drip=int(time.monotonic() * 4) % 4 == 0)

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        yield groups
    finally:
        over.set()
        watcher.join()
        for group in groups:
            for one in group.sockets:
                one.close()


def _hold(server: Served, way: Way) -> socket.socket:
    made = socket.create_connection(("127.0.0.1", server.port), timeout=30)
    if server.tls and way.handshake:
        made = TRUST.wrap_socket(made)
    made.sendall(way.first)
    made.setblocking(False)
    return made


def until_closed(groups: list[Held], seconds: float) -> None:
    end = time.monotonic() + seconds
    while any(group.left for group in groups) and time.monotonic() < end:
        time.sleep(0.1)
