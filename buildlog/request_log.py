"""What was asked of the site: who by number, what by the name of its address, how it was answered and how long it took.

No names, no PINs, no passwords, codes or keys, nothing that somebody typed: neither paths nor queries nor bodies go in.
"""

from __future__ import annotations

import logging
import os
import re
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.contrib.auth import SESSION_KEY as ACCOUNT_KEY
from django.http import HttpRequest
from django.http.response import HttpResponseBase

METHODS = {"GET", "HEAD", "POST", "OPTIONS", "PUT", "PATCH", "DELETE"}
# What PostgreSQL adds to an error: the row that did not fit, with all that stands in it.
DETAIL = re.compile(r"^DETAIL:.*(?:\n(?!\s*File |Traceback|\n).*)*\n?", re.MULTILINE)

log = logging.getLogger(__name__)


class RequestLog:
    """A line for each request that is not for a static file."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        begun = time.perf_counter()
        response = self.get_response(request)
        took_ms = (time.perf_counter() - begun) * 1000
        method = request.method if request.method in METHODS else "?"
        log.info("%s %s by %s: %d in %.0f ms", method, what(request), who(request), response.status_code, took_ms)
        return response


def what(request: HttpRequest) -> str:
    """The name of the address, and the build if there is such a one."""
    match, build = request.resolver_match, getattr(request, "build", None)
    name = (match.url_name or match.route) if match else "no such address"
    return f"{name} of {build.code}" if build else name


def who(request: HttpRequest) -> str:
    """Who asked, as far as the views looked: nothing is looked up for the log."""
    if device := getattr(request, "device", None):
        return f"device {device.pk}"
    if person := getattr(request, "person", None):
        return f"person {person.pk}"
    session = getattr(request, "session", None)
    loaded = getattr(session, "_session_cache", {})  # asked for itself it would be loaded, perhaps from no database
    if account := loaded.get(ACCOUNT_KEY):
        return f"account {account}"
    return "a stranger"


class Plain(logging.Formatter):
    """Lines without what people typed, in errors of the database either."""

    def formatException(self, ei) -> str:  # type: ignore[no-untyped-def]  # noqa: N802
        return DETAIL.sub("", super().formatException(ei))


class DailyFile(logging.Handler):
    """A file for each day (UTC), the old ones removed. Each line is one write at the end, so that lines of several
    processes do not mix. A disk that is full costs lines, never an answer.
    """

    def __init__(self, folder: str | Path, keep_days: int = 14) -> None:
        super().__init__()
        self.folder, self.keep_days = Path(folder), keep_days
        self._day, self._file = "", -1

    def emit(self, record: logging.LogRecord) -> None:
        try:
            day = f"{datetime.fromtimestamp(record.created, UTC):%Y-%m-%d}"
            if day != self._day:
                self._turn_to(day)
            os.write(self._file, f"{self.format(record)}\n".encode())
        except OSError:
            pass

    def _turn_to(self, day: str) -> None:
        self.close_file()
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._file = os.open(self.folder / f"{day}.log", os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        self._day = day
        oldest = f"{datetime.fromisoformat(day) - timedelta(days=self.keep_days):%Y-%m-%d}.log"
        for path in self.folder.glob("????-??-??.log"):
            if path.name < oldest:
                path.unlink(missing_ok=True)

    def close_file(self) -> None:
        if self._file >= 0:
            os.close(self._file)
        self._day, self._file = "", -1
