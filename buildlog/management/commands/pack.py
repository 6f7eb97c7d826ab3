"""`pack --build CODE --out FILE.zip`: a whole build in one file, to keep or to move."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.files.pack import to_zip
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.queries.pack import packed


class Command(Asking):
    help = "Put a whole build into one ZIP. PINs, passwords and keys of tablets stay here."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE.zip", help="where to write it")

    def answer(self, *, build: str, out: Path, **rest: Any) -> None:
        pack = packed(build_called(build))
        try:
            out.write_bytes(to_zip(pack))
        except OSError as wrong:
            raise Refused(
                Problem(_("{out} cannot be written: {reason}."), "--out", out=out, reason=wrong.strerror or wrong)
            ) from wrong
        entries = len(pack.tables["ledger"].rows)
        self.stdout.write(f"{pack.code} packed with {entries:,} ledger entries: {out}")
