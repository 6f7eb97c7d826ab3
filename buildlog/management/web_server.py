"""The web server: TLS, HTTP and headers are its own; bodies are the gate's."""

from __future__ import annotations

from granian import Granian
from granian.constants import HTTPModes, Interfaces
from granian.http import HTTP1Settings
from granian.log import LogLevels

from buildlog.asgi import WORKERS
from buildlog.certificates import Files

HEADERS_WITHIN_MS = 10_000  # from the connection, or from the answer before, to the end of the headers
HEADERS_MOST = 64 * 1024
STOP_WITHIN_S = 30  # requests that were begun are answered first; what holds on longer is ended


def run_server(host: str, port: int, files: Files | None = None) -> None:
    """Serves until it is told to stop, and then until what was begun is answered."""
    Granian(
        "buildlog.asgi:application",
        factory=True,
        address=host,
        port=port,
        interface=Interfaces.ASGINL,  # without the messages that tell of start and stop
        http=HTTPModes.http1,  # with the second version beside it, a connection that says nothing is never closed
        http1_settings=HTTP1Settings(header_read_timeout=HEADERS_WITHIN_MS, max_buffer_size=HEADERS_MOST),
        workers=WORKERS,
        workers_kill_timeout=STOP_WITHIN_S,
        respawn_failed_workers=True,
        websockets=False,
        log_access=False,
        log_level=LogLevels.warning,
        ssl_cert=files.certificate if files else None,
        ssl_key=files.key if files else None,
    ).serve()
