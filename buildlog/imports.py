"""One file at a time is taken in on a site. How far it is stands in files, not in the database: there nobody sees a row
before all of them are in, and every process of this server can show it and cancel it.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID

from django.conf import settings
from filelock import FileLock, Timeout

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

CANCELLED = Problem(_("The import was cancelled. Nothing was imported."))
EVERY_S = 0.5  # how often it is said how far it is


class Busy(Refused):
    """Another file is being taken in."""


class Cancelled(Refused):
    """Somebody said to stop; whoever takes rows in takes them all back."""


@dataclass
class Import:
    """One import: called with rows taken in and rows of the file, it keeps both, and stops when that is wished."""

    id: UUID
    said_at: float = field(default=-EVERY_S)

    def __call__(self, taken: int, rows: int) -> None:
        if time.monotonic() - self.said_at < EVERY_S:
            return
        if self._wish.exists():
            raise Cancelled(CANCELLED)
        self.said_at = time.monotonic()
        with _disk():
            self._state.write_text(f"{taken} {rows}")

    def progress(self) -> tuple[int, int] | None:
        """Rows taken in and rows of the file; None when it is not running."""
        try:
            taken, rows = self._state.read_text().split()
        except (OSError, ValueError):
            return None
        return int(taken), int(rows)

    def cancel(self) -> None:
        """It stops within a second; nothing happens when it is not running."""
        if self._state.exists():
            self._wish.touch()

    def leave(self) -> None:
        self._state.unlink(missing_ok=True)
        self._wish.unlink(missing_ok=True)

    @property
    def _state(self) -> Path:
        return _folder() / f"{self.id}.progress"

    @property
    def _wish(self) -> Path:
        return _folder() / f"{self.id}.cancel"


def _folder() -> Path:
    folder: Path = settings.DATA_DIR / "imports"
    with _disk():
        folder.mkdir(mode=0o700, exist_ok=True)
    return folder


@contextmanager
def _disk() -> Iterator[None]:
    try:
        yield
    except OSError as wrong:
        reason = wrong.strerror or str(wrong)
        raise Refused(
            Problem(_("Nothing was imported: the data folder can't be written ({reason})."), reason=reason)
        ) from wrong


@contextmanager
def alone(made: Import) -> Iterator[Import]:
    """Inside, no other file is taken in. Raises Busy when one is just now."""
    lock = FileLock(_folder() / "lock")
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise Busy(Problem(_("Another file is being imported. Try again when it is done."))) from None
    try:
        for left in (*_folder().glob("*.progress"), *_folder().glob("*.cancel")):
            left.unlink(missing_ok=True)  # of a process that ended in the middle
        made(0, 0)
        yield made
    finally:
        made.leave()
        lock.release()
