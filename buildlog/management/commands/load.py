"""`load KIND FILE --build CODE`: a lead's file into a build, all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import uuid4

from django.utils import timezone

from buildlog.core import sizes
from buildlog.imports import CANCELLED, Cancelled, Import, alone
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
            content = content_of(file, sizes.TABLE)
            number, remarks = self._load(kind, content, build=target, by=None, now=timezone.now(), dry_run=dry_run)
        for remark in remarks:
            self.stderr.write(f"{file}: remark: {remark}")
        kept = "would be loaded" if dry_run else "loaded"
        self.stdout.write(f"{number} {KINDS[kind].noun} {kept} into {target.code}.")

    def _load(self, kind: str, content: bytes, **how: Any) -> tuple[int, tuple[str, ...]]:
        """Ctrl+C leaves nothing behind, like a press on Cancel in the browser."""
        with alone(Import(uuid4())) as made:

            def watch(taken: int, rows: int) -> None:
                made(taken, rows)
                if self.stderr.isatty() and taken % 100 == 0:
                    self.stderr.write(f"\r{taken:,} of {rows:,} rows checked", ending="")

            try:
                return load(kind, content, watch=watch, **how)
            except KeyboardInterrupt:
                raise Cancelled(CANCELLED) from None
            finally:
                if self.stderr.isatty():
                    self.stderr.write("")
