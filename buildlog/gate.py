"""Requests are taken in here, whole, in time and in bounds, before a thread of the app sees them. Tablets that leave
the Wi-Fi in the middle of a request, and people who hold one open on purpose, hold nobody up.

The server speaks ASGI with this gate and watches over headers itself; behind the gate stands the app, in threads.
"""

from __future__ import annotations

import asyncio
import logging
import time
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Protocol, cast

from asgiref.typing import ASGIReceiveCallable, ASGISendCallable, HTTPScope
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve

from buildlog.core import sizes
from buildlog.middleware import security_headers

IDLE_S = 10.0  # a body of which nothing came for so long is given up
LEAST_RATE = 2_000.0  # bytes a second on the average, after IDLE_S: a tenth of a phone at the edge of the Wi-Fi
LINGER_S = 2.0  # what still comes is thrown away for so long, or many a browser would not read why it is refused
FILES_AT_ONCE = 2  # for each worker, so that files that come slowly do not fill the memory
BESIDE_A_FILE = 512 * 1024  # other fields, the form's own wrapping, and room to be told by the form which size it takes
FILES = {"load": sizes.TABLE, "plan_rings": sizes.TABLE, "unpack": sizes.PACK}  # by the name of the address

log = logging.getLogger(__name__)


class Refused(Exception):
    """The request goes no further; the status that says why."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


class Gone(Exception):
    """Whoever asked has left: nobody waits for an answer."""


@dataclass
class Pace:
    """How long the rest of a body is waited for: it may pause, and must not trickle."""

    begun: float = field(default_factory=time.monotonic)
    bytes: int = 0

    def patience(self) -> float:
        allowed = IDLE_S + self.bytes / LEAST_RATE
        return max(0.0, min(IDLE_S, self.begun + allowed - time.monotonic()))


class App(Protocol):
    """What stands behind the gate: it gets a request whole, and answers it."""

    async def __call__(self, scope: HTTPScope, body: bytes, send: ASGISendCallable) -> None: ...


class Gate:
    """An ASGI application for HTTP alone."""

    def __init__(self, app: App) -> None:
        self._app, self._files = app, asyncio.Semaphore(FILES_AT_ONCE)

    async def __call__(self, scope: HTTPScope, receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
        try:
            body = await self._body(scope, receive)
        except Gone:
            return None
        except Refused as refused:
            log.info("%s %s was refused: %d", scope["method"], scope["path"], refused.status)
            return await _turn_away(refused.status, receive, send)
        return await self._app(_with_length(scope, len(body)), body, send)

    async def _body(self, scope: HTTPScope, receive: ASGIReceiveCallable) -> bytes:
        declared = _declared(scope)
        if declared is not None and declared <= sizes.REQUEST:
            return await _read(receive, declared) if declared else b""
        limit = _limit(scope["path"])
        if declared is not None and declared > limit:
            raise Refused(413)
        if limit <= sizes.REQUEST:
            return await _read(receive, limit)
        if self._files.locked():
            raise Refused(503)
        async with self._files:
            return await _read(receive, limit)


def _declared(scope: HTTPScope) -> int | None:
    """The length that the request says it has; None where it comes in chunks and says nothing."""
    headers = dict(scope["headers"])
    if b"transfer-encoding" in headers:
        return None
    length = headers.get(b"content-length", b"0")
    if not (length.isdigit() and len(length) < 20):
        raise Refused(400)
    return int(length)


def _limit(path: str) -> int:
    """The most that is taken at an address."""
    try:
        name = resolve(path).url_name
    except Resolver404:
        return sizes.REQUEST
    return FILES[name] + BESIDE_A_FILE if name in FILES else sizes.REQUEST


async def _read(receive: ASGIReceiveCallable, most: int) -> bytes:
    """The whole body, or why not."""
    pace, parts = Pace(), []
    while True:
        try:
            event = await asyncio.wait_for(receive(), pace.patience())
        except TimeoutError:
            raise Refused(408) from None
        if event["type"] != "http.request":
            raise Gone
        parts.append(event["body"])
        pace.bytes += len(event["body"])
        if pace.bytes > most:
            raise Refused(413)
        if not event["more_body"]:
            return b"".join(parts)


def _with_length(scope: HTTPScope, length: int) -> HTTPScope:
    """The same request with the length that was counted. Names with an underscore go: behind WSGI they would pass for
    those with a hyphen, which a proxy vouches for.
    """
    told = (b"content-length", b"transfer-encoding")
    headers = [(name, value) for name, value in scope["headers"] if name not in told and b"_" not in name]
    return cast(HTTPScope, {**scope, "headers": [*headers, (b"content-length", b"%d" % length)]})


async def _turn_away(status: int, receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
    """Say why, and close the connection: what still comes is no new request."""
    page = _page(status)
    headers = [(name.lower().encode(), value.encode()) for name, value in page.items()]
    headers += [(b"connection", b"close"), (b"content-length", b"%d" % len(page.content))]
    await send({"type": "http.response.start", "status": status, "headers": headers, "trailers": False})
    await send({"type": "http.response.body", "body": page.content, "more_body": True})
    with suppress(TimeoutError):
        async with asyncio.timeout(LINGER_S if status != 408 else 0):
            while (event := await receive())["type"] == "http.request" and event["more_body"]:
                pass
    await send({"type": "http.response.body", "body": b"", "more_body": False})


def _page(status: int) -> HttpResponse:
    page = HttpResponse(render_to_string("refused.html", {"status": status}), status=status)
    security_headers(lambda _: page)(HttpRequest())
    return page
