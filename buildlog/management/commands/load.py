"""`load KIND FILE --build CODE`: a lead's file into a build, all of it or nothing."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from buildlog.actions import loads
from buildlog.core.work.rows import Reading
from buildlog.files import kinds
from buildlog.management.asking import Asking, build_called, content_of
from buildlog.models import Build

READERS: dict[str, Callable[[bytes, Build], Reading[Any]]] = {
    "rings": lambda content, build: kinds.rings(content),
    "crew": lambda content, build: kinds.crew(content, build.jobs.values_list("name", flat=True)),
    "availability": lambda content, build: kinds.availability(content, build.zone),
    "stints": lambda content, build: kinds.stints(content, build.zone),
    "jobs": lambda content, build: kinds.jobs(content),
}
LOADERS: dict[str, Callable[..., int]] = {
    "rings": loads.load_rings,
    "crew": loads.load_crew,
    "availability": loads.load_availability,
    "stints": loads.load_stints,
    "jobs": loads.load_jobs,
}


class Command(Asking):
    help = "Load a table (CSV or XLSX) into a build: all of it, or nothing and every bad row."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=sorted(READERS), help="what the file holds")
        parser.add_argument("file", type=Path, help="CSV (UTF-8; comma, semicolon or tab) or XLSX")
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--dry-run", action="store_true", help="check everything, keep nothing")

    def answer(self, *, kind: str, file: Path, build: str, dry_run: bool, **rest: Any) -> None:
        target = build_called(build)
        with self.about(file):
            reading = READERS[kind](content_of(file), target)
            with transaction.atomic():
                number = LOADERS[kind](build=target, reading=reading, by=None, now=timezone.now())
                transaction.set_rollback(dry_run)
        for remark in reading.remarks:
            self.stderr.write(f"{file}: remark: {remark}")
        self.stdout.write(f"{number} {kind} {'would be loaded' if dry_run else 'loaded'} into {target.code}.")
