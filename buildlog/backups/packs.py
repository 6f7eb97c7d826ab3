"""Every build as a pack: for a PostgreSQL without its tools at hand. Accounts, PINs and devices are not in packs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management import call_command

from buildlog.actions.unpack import unpack
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.files.pack import from_zip, to_zip
from buildlog.models import Build
from buildlog.queries.pack import packed

FILE = "packs"


def copy(database: dict[str, Any], folder: Path) -> Path:
    target = folder / FILE
    target.mkdir()
    for build in Build.objects.all():
        (target / f"{build.code}.zip").write_bytes(to_zip(packed(build)))
    return target


def put(folder: Path, database: dict[str, Any]) -> None:
    """All builds into a fresh database, whose tables are made."""
    call_command("migrate", verbosity=0, backup=False)
    if Build.objects.exists():
        raise Refused(Problem(_("The database has builds: restore only into an empty one.")))
    for path in sorted((folder / FILE).glob("*.zip")):
        unpack(pack=from_zip(path.read_bytes()))
