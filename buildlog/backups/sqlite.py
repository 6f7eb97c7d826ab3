"""The SQLite database as one file that stands for itself."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

FILE = "database.sqlite3"


def copy(database: dict[str, Any], folder: Path) -> Path:
    """A copy as of one moment, while others write: by SQLite's own online backup."""
    target = folder / FILE
    try:
        _copy(database, target)
    except sqlite3.Error as wrong:
        raise Refused(
            Problem(_("The database {name} cannot be copied: {reason}."), name=database["NAME"], reason=wrong)
        ) from wrong
    return target


def _copy(database: dict[str, Any], target: Path) -> None:
    existing = f"{Path(database['NAME']).resolve().as_uri()}?mode=rw"  # where none is, none is made
    with closing(sqlite3.connect(existing, uri=True, timeout=30)) as source, closing(sqlite3.connect(target)) as made:
        source.backup(made)
        with suppress(sqlite3.DatabaseError):  # a damaged one: ``damage`` says how
            made.execute("PRAGMA journal_mode=DELETE")  # no second file beside it


def damage(path: Path | str) -> str:
    """What is wrong with the file itself, in SQLite's words; empty when nothing is."""
    try:
        with closing(sqlite3.connect(f"{Path(path).resolve().as_uri()}?mode=ro", uri=True, timeout=30)) as database:
            problems = [row[0] for row in database.execute("PRAGMA integrity_check(3)")]
            problems += [f"{row[0]}: a row points nowhere" for row in database.execute("PRAGMA foreign_key_check")][:3]
    except sqlite3.DatabaseError as wrong:
        return str(wrong)
    return "" if problems == ["ok"] else "; ".join(line for line in problems if line != "ok")


def put(folder: Path, database: dict[str, Any]) -> None:
    """The copy where the database belongs. Raises Refused when one is there or the copy is damaged."""
    place = Path(database["NAME"])
    if place.exists() and place.stat().st_size:
        raise Refused(
            Problem(
                _("{place} holds a database: restore only into a fresh place. Set BUILDLOG_DATA to an empty folder."),
                place=place,
            )
        )
    if damaged := damage(folder / FILE):
        raise Refused(Problem(_("The database in it is damaged: {damaged}."), damaged=damaged))
    for beside in ("-wal", "-shm"):  # of a database that is gone
        Path(f"{place}{beside}").unlink(missing_ok=True)
    shutil.move(folder / FILE, place)
    place.chmod(0o600)
