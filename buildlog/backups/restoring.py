"""A backup restored into a fresh place."""

from __future__ import annotations

import os
import shutil
import tempfile
import zipfile
import zlib
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import connection

from buildlog.backups.making import SECRETS, WAYS, title_of
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _


def restore(file: Path) -> datetime:
    """Database and secrets as they were; the moment of the backup.

    Raises Refused when the file is no backup or damaged, or the place is not fresh: then nothing has changed.
    """
    try:
        with zipfile.ZipFile(file) as archive, tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as work:
            title = title_of(archive)
            _refuse_other_database(title["database"])
            _extract(archive, Path(work), WAYS[title["database"]].FILE)
            WAYS[title["database"]].put(Path(work), connection.settings_dict)
            _put_secrets(Path(work) / "secrets")
            return datetime.fromisoformat(title["made_at"])
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as wrong:
        raise Refused(Problem(_("The file is damaged, or no backup ({reason})."), reason=wrong)) from wrong
    except OSError as wrong:
        raise Refused(Problem(_("It could not be restored: {reason}."), reason=wrong.strerror or wrong)) from wrong


def _refuse_other_database(way: str) -> None:
    if way != "packs" and way != connection.vendor.removesuffix("ql"):
        raise Refused(
            Problem(
                _("This backup is of {way}, DATABASE_URL names {vendor}: name a fresh database of the same kind."),
                way=way, vendor=connection.vendor,
            )
        )  # fmt: skip


def _extract(archive: zipfile.ZipFile, work: Path, content: str) -> None:
    """Only what a backup has, by name: nothing in a file decides where else it is written."""
    wanted = {content, *(f"secrets/{name}" for name in SECRETS)}
    for info in archive.infolist():
        folder, slash, name = info.filename.partition("/")
        if info.filename in wanted or (slash and folder == content and "/" not in name):
            archive.extract(info, work)


def _put_secrets(secrets: Path) -> None:
    for name in SECRETS:
        if (secret := secrets / name).exists():
            place = settings.DATA_DIR / name
            place.parent.mkdir(mode=0o700, exist_ok=True)
            shutil.move(secret, place)
            os.chmod(place, 0o600)
