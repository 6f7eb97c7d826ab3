"""`audit --build CODE`: does what is shown follow from what was written down? Exit 1 if anything differs."""

from __future__ import annotations

import sys
from typing import Any

from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.queries.audit import differences


class Command(Asking):
    help = "Compare the ledger with the shown state, the plan with the segments, the stints with the rules."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")

    def answer(self, *, build: str, **rest: Any) -> None:
        target = build_called(build)
        sentences = differences(target)
        for sentence in sentences:
            self.stderr.write(sentence)
        if sentences:
            self.stderr.write(f"{len(sentences)} difference{'s' if len(sentences) > 1 else ''} in {target.code}.")
            sys.exit(1)
        self.stdout.write(f"{target.code}: {target.entries.count()} entries, everything adds up.")
