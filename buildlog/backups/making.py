"""A backup made: copied, put into one file, restored into a place that is thrown away, and audited there."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

from buildlog.backups import packs, postgres, sqlite
from buildlog.backups.folder import Backup, alone_in, backups_in, file_name, superfluous
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

TITLE, KIND, FORMAT = "backup.json", "buildlog backup", 1
SECRETS = ("secret-key", "pin-pepper", "tls/authority.pem", "tls/authority-key.pem")
WAYS = {"sqlite": sqlite, "postgres": postgres, "packs": packs}
BESIDE = ".making-"
LEAST_FREE = 200 * 1024 * 1024  # bytes that a backup leaves to the ledger on the same disk
LONGEST_S = 1800


def back_up(folder: Path, now: datetime, *, before_update: bool = False) -> Backup:
    """One more backup in the folder; what is superfluous then goes.

    Raises Refused when none could be made. One that fails its rehearsal is kept as unsound, and refused as well.
    """
    with alone_in(folder), _beside(folder) as work:
        _refuse_little_room(folder)
        way = _copied(work)
        made = work / "backup.zip"
        _zip(work, made, way, now)
        problem = _rehearsed(made, work / "rehearsal", way)
        name = file_name(now, before_update=before_update, sound=not problem)
        made.replace(folder / name)
        for each in superfluous(backups_in(folder, now)):
            each.path.unlink(missing_ok=True)
    if problem:
        raise Refused(Problem(_("The backup {name} did not pass its check: {problem}"), name=name, problem=problem))
    return Backup(now, before_update, True, folder / name)


@contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """A folder for what is half done, which goes; so do those of backups that were killed."""
    for left in folder.glob(f"{BESIDE}*"):
        shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=BESIDE, dir=folder, ignore_cleanup_errors=True) as work:
        yield Path(work)


def _copied(work: Path) -> str:
    """Copy the database by the way that there is; the way's name."""
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        if damaged := sqlite.damage(sqlite.copy(database, work)):
            raise Refused(
                Problem(_("The database is damaged: {damaged}. Restore the last good backup."), damaged=damaged)
            )
        return "sqlite"
    if postgres.tools_are_there():
        try:
            postgres.copy(database, work)
            return "postgres"
        except Refused:
            pass  # its tools may be older than the server; packs do without them
    packs.copy(database, work)
    return "packs"


def _refuse_little_room(folder: Path) -> None:
    """Before anything is copied. Copy and rehearsal take the size of the database each, the ZIP at most as much."""
    wanted = 3 * _size() + LEAST_FREE
    if (free := shutil.disk_usage(folder).free) < wanted:
        raise Refused(
            Problem(
                _("No backup in {folder}: only {free} MB are free there, {wanted} MB are needed."),
                folder=folder, free=free >> 20, wanted=wanted >> 20,
            )
        )  # fmt: skip


def _size() -> int:
    """Of the database, in bytes."""
    if connection.vendor == "sqlite":
        name = Path(connection.settings_dict["NAME"])
        return sum(path.stat().st_size for path in (name, Path(f"{name}-wal")) if path.exists())
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def _zip(work: Path, made: Path, way: str, now: datetime) -> None:
    title = {"kind": KIND, "format": FORMAT, "database": way, "made_at": now.isoformat()}
    with open(os.open(made, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
            archive.writestr(TITLE, json.dumps(title))
            content = work / WAYS[way].FILE
            for path in sorted(content.rglob("*")) if content.is_dir() else [content]:
                archive.write(path, path.relative_to(work).as_posix())
            for name in SECRETS:
                if (secret := settings.DATA_DIR / name).exists():
                    archive.write(secret, f"secrets/{name}")
        out.flush()
        os.fsync(out.fileno())


def _rehearsed(made: Path, place: Path, way: str) -> str:
    """Restore it as a person would, in a process of its own; what went wrong, or nothing."""
    if way != "postgres":
        return _restored(made, place, f"sqlite:///{(place / 'buildlog.sqlite3').as_posix()}")
    with postgres.rehearsal_database(connection.settings_dict) as address:
        return _restored(made, place, address) if address else ""  # pg_dump's own exit status has to do


def _restored(made: Path, place: Path, database: str) -> str:
    environment = os.environ | {
        "BUILDLOG_DATA": str(place), "DATABASE_URL": database, "DJANGO_SETTINGS_MODULE": "buildlog.settings",
    }  # fmt: skip
    environment.pop("BUILDLOG_BACKUPS", None)
    command = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "restore", str(made)]
    try:
        done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=LONGEST_S)
    except (OSError, subprocess.TimeoutExpired) as wrong:
        return str(wrong)
    return " ".join(done.stderr.split()) if done.returncode else ""


def title_of(archive: zipfile.ZipFile) -> dict[str, Any]:
    """Raises Refused for a ZIP that is no backup, or one of a newer program."""
    try:
        title = json.loads(archive.read(TITLE))
    except (KeyError, ValueError) as wrong:
        raise Refused(Problem(_("This is no backup: give a file that `backup` or `serve` made."))) from wrong
    if not isinstance(title, dict) or title.get("kind") != KIND or title.get("database") not in WAYS:
        raise Refused(Problem(_("This is no backup: give a file that `backup` or `serve` made.")))
    if title.get("format") != FORMAT:
        raise Refused(
            Problem(_("The backup has format {format}: restore it with a newer program."), format=title.get("format"))
        )
    return title
