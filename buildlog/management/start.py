"""What has to be true before the site is served from a data folder: else better no site than a wrong or second one."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection
from filelock import FileLock, Timeout

from buildlog.backups import sqlite
from buildlog.models import Installation
from buildlog.models.installation import digest_of_secrets

REMEMBERED = Path(settings.BASE_DIR) / ".served.json"  # by database: which one was served from there


@contextmanager
def alone_on(folder: Path) -> Iterator[None]:
    """One `serve` a data folder. The system lets go of the lock when the process ends, however it ends."""
    try:
        held = FileLock(folder / ".serving", timeout=0).acquire()
    except Timeout as busy:
        raise CommandError(
            f"Another `serve` is running on {folder}. Stop that one first, or give this one a folder of its own: set "
            "BUILDLOG_DATA."
        ) from busy
    except OSError as wrong:
        raise CommandError(
            f"{folder} cannot be written ({wrong.strerror}): look whether its disk is full, or can only be read."
        ) from wrong
    with held:
        yield


def close_to_others(*paths: Path) -> None:
    """The data are for whoever runs the site, also where folder and database existed before with wider rights."""
    for path in paths:
        if path.exists() and os.name == "posix" and path.stat().st_uid == os.getuid():
            path.chmod(0o700 if path.is_dir() else 0o600)


def refuse_damage() -> None:
    """A file that is no sound database, before anything reads half of it. PostgreSQL looks after its own."""
    if connection.vendor != "sqlite":
        return
    file = Path(connection.settings_dict["NAME"])
    if file.exists() and file.stat().st_size and (damaged := sqlite.damage(file)):
        raise CommandError(
            f"The database {file} is damaged: {damaged}. Keep that file. Set BUILDLOG_DATA to a new, empty folder and "
            f"run `python manage.py restore FILE` with the newest backup in {settings.BACKUP_DIR}."
        )


def refuse_other_data(*, empty: bool, new_secrets: bool, remembered: Path | None = None) -> None:
    """A database that is not the one served from here before, or that was used with other secrets.

    ``empty`` and ``new_secrets`` say that the person knows and wants it so.
    """
    remembered = remembered or REMEMBERED
    before = _served(remembered).get(_place())
    ours = Installation.objects.first()
    if before and not empty and (ours is None or str(ours.pk) != before):
        raise CommandError(
            f"{_place()} is not the database that was served from there before; it may be empty because a disk is not "
            f"connected. Connect it, or restore a backup (they go to {settings.BACKUP_DIR}), or start with "
            "--accept-empty if this is a new beginning."
        )
    ours = ours or Installation.objects.create()
    if ours.secrets_digest != digest_of_secrets():
        if not new_secrets:
            raise CommandError(
                f"The secrets in {settings.DATA_DIR} are not those that this database was used with. Put secret-key "
                "and pin-pepper back: each backup holds them, under secrets/. If they are lost, start with "
                "--accept-new-secrets: everyone has to sign in again, and every PIN has to be issued again."
            )
        Installation.objects.filter(pk=ours.pk).update(secrets_digest=digest_of_secrets())
    _remember(remembered, str(ours.pk))


def _place() -> str:
    database = connection.settings_dict
    return ":".join(str(database[key]) for key in ("HOST", "PORT", "NAME") if database[key])


def _served(remembered: Path) -> dict[str, str]:
    try:
        return dict(json.loads(remembered.read_text()))
    except (OSError, ValueError, TypeError):
        return {}


def _remember(remembered: Path, installation: str) -> None:
    """Beside the program, not in the folder that may be missing. A folder made to be thrown away is not remembered."""
    if remembered == REMEMBERED and _place().startswith(tempfile.gettempdir()):
        return
    known = _served(remembered) | {_place(): installation}
    with suppress(OSError):  # the program may lie where nothing can be written: then nothing is remembered
        remembered.write_text(json.dumps(known, indent=1))
