"""Prints as PDF: `python manage.py paper KIND --build CODE --out FILE.pdf`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.management import label_paper
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser

KINDS = {"labels": label_paper}  # each has HELP, add_options(parser) and make(build, options) -> bytes


class Command(Asking):
    help = "Writes a print as PDF."

    def add_options(self, parser: OptionParser) -> None:
        kinds = parser.add_subparsers(dest="kind", required=True, metavar="KIND")
        for name, kind in KINDS.items():
            subparser = kinds.add_parser(name, help=kind.HELP, description=kind.HELP.capitalize() + ".")
            subparser.add_argument("--build", required=True, help="code of the build")
            subparser.add_argument("--out", required=True, type=Path, help="the PDF to write")
            kind.add_options(subparser)

    def answer(self, **options: Any) -> None:
        pdf = KINDS[options["kind"]].make(build_called(options["build"]), options)
        try:
            options["out"].write_bytes(pdf)
        except OSError as wrong:
            raise Refused(
                Problem(
                    _("{out} cannot be written: {reason}."),
                    out=options["out"],
                    reason=wrong.strerror or wrong,
                )
            ) from wrong
        self.stdout.write(f"{options['out']} written.")
