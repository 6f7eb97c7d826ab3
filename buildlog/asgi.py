"""What the server loads: the gate, and behind it the app in a fixed number of threads.

Adapters of libraries let the thread hand over its answer bit by bit: it waits for whoever reads slowly, and for ever
when the server stops meanwhile. Here it gets the whole request and gives back the whole answer.
"""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from io import BytesIO
from typing import Any
from wsgiref.types import WSGIApplication

from asgiref.typing import ASGISendCallable, HTTPScope
from asgiref.wsgi import WsgiToAsgiInstance

from buildlog.gate import Gate

# Two workers of four threads served the most ticks on a two-core laptop. On Windows processes cannot share a port.
WORKERS, THREADS = (1, 8) if sys.platform == "win32" else (2, 4)


@dataclass
class Answer:
    """What a WSGI app answers, once it is whole."""

    status: int
    headers: list[tuple[bytes, bytes]]
    body: bytes = b""


class Threads:
    """A WSGI app in threads of its own, and with them its connections to the database."""

    def __init__(self, app: WSGIApplication, threads: int) -> None:
        self._app, self._pool = app, ThreadPoolExecutor(threads)

    async def __call__(self, scope: HTTPScope, body: bytes, send: ASGISendCallable) -> None:
        answer = await asyncio.get_running_loop().run_in_executor(self._pool, self._answer, _environ(scope, body))
        await send(
            {"type": "http.response.start", "status": answer.status, "headers": answer.headers, "trailers": False}
        )
        await send({"type": "http.response.body", "body": answer.body, "more_body": False})

    def _answer(self, environ: dict[str, Any]) -> Answer:
        begun: list[Answer] = []

        def start(status: str, headers: list[tuple[str, str]], *_: object) -> Callable[[bytes], object]:
            raw = [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers]
            begun[:] = [Answer(int(status.split()[0]), raw)]
            return _unused

        chunks = self._app(environ, start)
        try:
            body = b"".join(chunks)
        finally:
            _close(chunks)
        begun[0].body = body
        return begun[0]


def application() -> Gate:
    """One for each worker."""
    from buildlog.wsgi import application as app

    return Gate(Threads(app, THREADS))


def _environ(scope: HTTPScope, body: bytes) -> dict[str, Any]:
    """The request as WSGI has it."""
    adapter = WsgiToAsgiInstance(None, duplicate_header_limit=None)  # type: ignore[no-untyped-call]
    adapter.scope = scope
    environ: dict[str, Any] = adapter.build_environ(scope, BytesIO(body))  # type: ignore[no-untyped-call]
    return environ


def _unused(_: bytes) -> None:
    raise NotImplementedError("Django returns what it says; it does not write it.")


def _close(chunks: Iterable[bytes]) -> None:
    close = getattr(chunks, "close", None)
    if close is not None:
        close()
