"""What the gate lets through, and when it gives up, without a server: messages as one would send them."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from buildlog import gate
from buildlog.core import sizes
from buildlog.gate import Gate, Pace

CHUNKED = [(b"transfer-encoding", b"chunked")]
TABLE, PACK = "/b/SHED/load/crew/", "/new-build/packed/"


class Asked:
    """One request: its messages, each after some seconds, and what came of it."""

    def __init__(self, *parts: bytes, path: str = "/sign-in/", headers=None, pause: float = 0, ends: bool = True):
        self.messages: list[dict[str, Any]] = [
            {"type": "http.request", "body": part, "more_body": not (ends and at == len(parts))}
            for at, part in enumerate(parts, 1)
        ]
        length = [(b"content-length", str(sum(map(len, parts))).encode())]
        headers = length if headers is None else headers
        self.scope: Any = {"type": "http", "method": "POST", "path": path, "headers": headers}
        self.pause, self.sent = pause, []

    async def receive(self) -> Any:
        if not self.messages:
            await asyncio.sleep(60)
        await asyncio.sleep(self.pause)
        return self.messages.pop(0)

    async def send(self, event: Any) -> None:
        self.sent.append(event)

    @property
    def status(self) -> int | None:
        return self.sent[0]["status"] if self.sent else None


class App:
    """Stands behind the gate and keeps what it is given."""

    def __init__(self) -> None:
        self.bodies: list[bytes] = []
        self.headers: dict[bytes, bytes] = {}

    async def __call__(self, scope, body, send) -> None:
        self.bodies.append(body)
        self.headers = dict(scope["headers"])
        await send({"type": "http.response.start", "status": 200, "headers": []})


def through(*asked: Asked) -> App:
    app = App()

    async def all_at_once() -> None:
        door = Gate(app)
        await asyncio.gather(*(door(one.scope, one.receive, one.send) for one in asked))

    asyncio.run(all_at_once())
    return app


@pytest.fixture
def hasty(monkeypatch) -> None:
    """A tenth of a second instead of ten."""
    monkeypatch.setattr(gate, "IDLE_S", 0.1)
    monkeypatch.setattr(gate, "LINGER_S", 0.1)


def test_a_body_arrives_in_one_part():
    assert through(Asked(b"a=", b"1&", b"b=2")).bodies == [b"a=1&b=2"]


def test_a_body_in_chunks_arrives_with_its_length():
    app = through(Asked(b"a=", b"1", headers=CHUNKED))
    assert app.bodies == [b"a=1"]
    assert app.headers[b"content-length"] == b"3" and b"transfer-encoding" not in app.headers


def test_names_that_would_pass_for_those_of_a_proxy_are_left_out():
    app = through(Asked(headers=[(b"x_forwarded_proto", b"https"), (b"x-forwarded-proto", b"http")]))
    assert b"x_forwarded_proto" not in app.headers and app.headers[b"x-forwarded-proto"] == b"http"


def test_a_body_that_stops_is_given_up(hasty):
    asked = Asked(b"abc", ends=False)
    assert through(asked).bodies == [] and asked.status == 408


def test_a_body_that_trickles_is_given_up(hasty):
    asked = Asked(*[b"x"] * 60, pause=0.02)
    assert through(asked).bodies == [] and asked.status == 408


def test_a_body_that_comes_slowly_goes_through(hasty):
    asked = Asked(*[b"x" * 400] * 20, pause=0.02)  # 20 kB a second, for four times as long as a pause may last
    assert through(asked).bodies == [b"x" * 8000]


def test_patience_is_a_pause_at_first_and_then_what_the_rate_has_earned():
    assert Pace(begun=asyncio.run(_now()) - 4).patience() == pytest.approx(6, abs=0.5)
    assert Pace(begun=asyncio.run(_now()) - 14, bytes=10_000).patience() == pytest.approx(1, abs=0.5)
    assert Pace(begun=asyncio.run(_now()) - 14, bytes=10**9).patience() == 10


async def _now() -> float:
    return asyncio.get_running_loop().time()


@pytest.mark.parametrize(
    ("path", "length", "status"),
    [
        ("/sign-in/", sizes.REQUEST, None),
        ("/sign-in/", sizes.REQUEST + 1, 413),
        ("/nowhere/at/all", sizes.REQUEST + 1, 413),
        (TABLE, sizes.TABLE, None),
        (TABLE, 300_000_000, 413),
        (PACK, sizes.PACK, None),
        (PACK, 300_000_000, 413),
    ],
)
def test_a_length_that_is_too_much_is_refused_before_anything_comes(hasty, path, length, status):
    asked = Asked(b"x", path=path, headers=[(b"content-length", str(length).encode())])
    through(asked)
    assert (asked.status if status else asked.status != 413) == (status or True)


def test_a_body_that_says_no_length_is_counted(hasty):
    asked = Asked(*[b"x" * 100_000] * 40, headers=CHUNKED)
    assert through(asked).bodies == [] and asked.status == 413


def test_a_file_that_is_too_large_by_little_is_refused_by_the_form_in_words():
    assert through(Asked(b"x" * (sizes.TABLE + 1000), path=TABLE)).bodies


@pytest.mark.parametrize("length", [b"-1", b"1e3", b"", b"9" * 40, "٣".encode()])
def test_a_length_that_is_no_number_is_refused(length):
    asked = Asked(headers=[(b"content-length", length)])
    assert through(asked).bodies == [] and asked.status == 400


def test_files_that_come_slowly_do_not_fill_the_memory(hasty):
    large = [b"x" * 200_000] * 2
    asked = [Asked(*large, path=PACK, pause=0.05) for _ in range(gate.FILES_AT_ONCE + 2)]
    assert len(through(*asked, Asked(b"a=1")).bodies) == gate.FILES_AT_ONCE + 1
    assert [one.status for one in asked].count(503) == 2


def test_nobody_is_told_who_has_left():
    asked = Asked(b"abc", ends=False)
    asked.messages.append({"type": "http.disconnect"})
    assert through(asked).bodies == [] and asked.sent == []


def test_who_is_refused_is_told_why_and_the_connection_ends(hasty):
    asked = Asked(b"x", headers=[(b"content-length", b"300000000")])
    through(asked)
    headers = dict(asked.sent[0]["headers"])
    assert headers[b"connection"] == b"close" and b"content-security-policy" in headers
    assert b"This is too large" in asked.sent[1]["body"] and not asked.sent[-1]["more_body"]
