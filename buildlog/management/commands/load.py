"""`load KIND FILE --build CODE`: a lead's file into a build, all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.utils import timezone

from buildlog.loading import KINDS, load
from buildlog.management.asking import Asking, build_called, content_of
from buildlog.management.options import OptionParser


class Command(Asking):
    help = "Load a table (CSV or XLSX) into a build: all of it, or nothing and every bad row."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("kind", choices=sorted(KINDS), help="what the file holds")
        parser.add_argument("file", type=Path, help="CSV (UTF-8; comma, semicolon or tab) or XLSX")
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--dry-run", action="store_true", help="check everything, keep nothing")

    def answer(self, *, kind: str, file: Path, build: str, dry_run: bool, **rest: Any) -> None:
        target = build_called(build)
        with self.about(file):
            content = content_of(file)
            number, remarks = load(kind, content, build=target, by=None, now=timezone.now(), dry_run=dry_run)
        for remark in remarks:
            self.stderr.write(f"{file}: remark: {remark}")
        kept = "would be loaded" if dry_run else "loaded"
        self.stdout.write(f"{number} {KINDS[kind].noun} {kept} into {target.code}.")
