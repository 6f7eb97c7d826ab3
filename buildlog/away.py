"""The database cannot be used for now: how that shows, whatever is asked of it."""

from __future__ import annotations

import os
from typing import Any

from django.db import DatabaseError, InterfaceError, OperationalError, connection

GONE = "the file of the database is gone, or another one lies in its place"
_opened: dict[str, tuple[int, int] | None] = {}  # by path: which file this process opened first


def is_away(wrong: BaseException) -> bool:
    """Is this the database's own trouble? Locked, full and away are OperationalErrors; of a damaged file SQLite says
    DatabaseError itself. Its other kinds speak of what was asked, which is the program's trouble.
    """
    return isinstance(wrong, OperationalError | InterfaceError) or is_damage(wrong)


def is_damage(wrong: BaseException) -> bool:
    return type(wrong) is DatabaseError


def remember_file(connection: Any, **kwargs: object) -> None:
    """Called for every new connection: all of a process are to one file. Raises OperationalError for another one."""
    if connection.vendor != "sqlite":
        return
    path = str(connection.settings_dict["NAME"])
    if _opened.setdefault(path, _identity(path)) != _identity(path):
        connection.close()
        raise OperationalError(GONE)


def file_is_gone() -> bool:
    """Deleted, or another one in its place: what this process writes goes to a file that nobody finds again."""
    path = str(connection.settings_dict["NAME"])
    return path in _opened and _opened[path] != _identity(path)


def _identity(path: str) -> tuple[int, int] | None:
    try:
        status = os.stat(path)
    except OSError:
        return None
    return status.st_dev, status.st_ino
