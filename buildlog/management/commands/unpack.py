"""`unpack FILE.zip [--as CODE]`: a packed build taken in, all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from buildlog.actions.unpack import unpack
from buildlog.files.pack import from_zip
from buildlog.management.asking import Asking, content_of
from buildlog.management.options import OptionParser
from buildlog.queries.audit import differences


class Command(Asking):
    help = "Take a packed build in: all of it, or nothing and the reason."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.zip", help="what `pack` wrote")
        parser.add_argument("--as", default="", dest="code", metavar="CODE", help="take it in under another code")

    def answer(self, *, file: Path, code: str, **rest: Any) -> None:
        with self.about(file):
            build, remarks = unpack(pack=from_zip(content_of(file)), code=code)
        for remark in (*remarks, *differences(build)):
            self.stderr.write(f"{file}: remark: {remark}")
        self.stdout.write(f"{build.code} unpacked with {build.entries.count():,} ledger entries.")
