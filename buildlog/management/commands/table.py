"""`table`: a table of a build as CSV or XLSX."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.utils import timezone

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.files.out import Table, as_csv, as_xlsx
from buildlog.files.plan_tables import PLAN_TABLES, supply_table
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.models import Build, Plan
from buildlog.queries.ball_plan import ball_plan
from buildlog.queries.supplies import store_of

KINDS = (*PLAN_TABLES, "supplies")
WRITERS = {".csv": as_csv, ".xlsx": as_xlsx}


class Command(Asking):
    help = f"Write a table of a build as CSV or XLSX: {', '.join(KINDS)}."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("kind", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE", help="FILE.csv or FILE.xlsx")

    def answer(self, *, kind: str, build: str, out: Path, **rest: Any) -> None:
        write = WRITERS.get(out.suffix.lower())
        if write is None:
            raise Refused(
                Problem(_("{out!r} is neither .csv nor .xlsx: give the file one of these ends."), "--out", out=out.name)
            )
        content = write(_table(kind, build_called(build)))
        try:
            out.write_bytes(content)
        except OSError as wrong:
            raise Refused(
                Problem(_("{out} cannot be written: {reason}."), "--out", out=out, reason=wrong.strerror or wrong)
            ) from wrong
        self.stdout.write(f"{kind} written to {out}")


def _table(kind: str, build: Build) -> Table:
    if kind == "supplies" and (store := store_of(build, timezone.now())):
        return supply_table(store)
    plan = Plan.objects.filter(build=build).first()
    if plan is None:
        raise Refused(Problem(_("Build {code} has no plan yet: make one first."), "--build", code=build.code))
    return PLAN_TABLES[kind](ball_plan(plan))
