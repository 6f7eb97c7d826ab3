"""`restore FILE`: a backup into a fresh place, and the audit of what it holds."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from buildlog.backups.restoring import restore
from buildlog.management.asking import Asking, changes_waiting
from buildlog.management.options import OptionParser
from buildlog.models import Build
from buildlog.queries.audit import differences


class Command(Asking):
    help = "Restore a backup into a fresh place: an empty data folder, or an empty PostgreSQL database."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="what `backup` or `serve` made")

    def answer(self, *, file: Path, **rest: Any) -> None:
        with self.about(file):
            made_at = restore(file)
        self.stdout.write(f"Restored as of {made_at:%Y-%m-%d %H:%M} UTC.")
        if changes_waiting():
            self.stdout.write("It is of an older program: run `python manage.py migrate`, then `serve`.")
            return
        problems = [problem for build in Build.objects.all() for problem in differences(build)]
        for problem in problems:
            self.stderr.write(problem)
        if problems:
            sys.exit(1)
        self.stdout.write(f"Builds: {', '.join(Build.objects.values_list('code', flat=True)) or 'none'}. All add up.")
        self.stdout.write("Start with `python manage.py serve`. Devices send what they kept since then by themselves.")
