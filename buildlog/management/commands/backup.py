"""`backup [--out FOLDER]`: database and secrets in one file, tried by restoring it into a place that is thrown away."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from buildlog.backups.making import back_up
from buildlog.management.asking import Asking
from buildlog.management.options import OptionParser


class Command(Asking):
    help = "Copy database and secrets into one file, and check it by restoring it into a temporary place."

    def add_options(self, parser: OptionParser) -> None:
        folder = settings.BACKUP_DIR
        parser.add_argument(
            "--out", type=Path, default=folder, metavar="FOLDER", help=f"where the file goes (default {folder})"
        )

    def answer(self, *, out: Path, **rest: Any) -> None:
        backup = back_up(out, timezone.now())
        self.stdout.write(f"Backup made and checked: {backup.path}")
        self.stdout.write("It holds PINs' and passwords' secrets: keep it as you keep the laptop.")
