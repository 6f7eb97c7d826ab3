"""`python -m tests.golden`: see the package."""

from __future__ import annotations

import sys
import tempfile
from argparse import ArgumentParser, Namespace
from pathlib import Path

from tests.golden.comparing import compare
from tests.golden.writing import HERE, write

SHOWN = 12  # differing lines of a file; what several files share is shown once


def _asked() -> Namespace:
    parser = ArgumentParser(prog="python -m tests.golden", description="What this program answers, kept and compared.")
    what = parser.add_subparsers(dest="what", required=True)
    for name, help_text in (("write", "write golden files into a new folder"), ("compare", "compare with a folder")):
        verb = what.add_parser(name, help=help_text)
        verb.add_argument("folder", type=Path)
        verb.add_argument("--root", type=Path, default=HERE, metavar="CHECKOUT", help="whose code is run (this one's)")
    what.choices["write"].add_argument(
        "--packs", type=Path, metavar="FOLDER", help="packs of before to be taken in, in place of its own"
    )
    verb.add_argument("other", type=Path, nargs="?", help="files written already; without it, the code is run now")
    verb.add_argument("--wording", action="store_true", help="of sentences compare the figures in them only")
    return parser.parse_args()


def main() -> int:
    asked = _asked()
    if asked.what == "write":
        asked.folder.mkdir(parents=True)  # never over files that are there
        write(asked.folder, asked.root, asked.packs)
        return 0
    if asked.other:
        return _report(asked.folder, asked.other, asked.wording)
    with tempfile.TemporaryDirectory(prefix="buildlog-golden-") as now:
        write(Path(now), asked.root, packs=asked.folder / "fresh" / "packs")
        return _report(asked.folder, Path(now), asked.wording)


def _report(before: Path, after: Path, wording: bool) -> int:
    differing, shown = [], set()
    for number, (name, differences, remarks) in enumerate(compare(before, after, wording), start=1):
        differing += [name] * bool(differences)
        print(f"{number:3} {'DIFFERS' if differences else 'same   '} {name}")
        lines = dict.fromkeys([*differences, *(f"remark: {remark}" for remark in remarks)])
        new = [line for line in lines if line not in shown]
        shown.update(new)
        for line in new[:SHOWN]:
            print(f"    {line}")
        if left := len(lines) - len(new[:SHOWN]):
            print(f"    and {left} more, {len(lines) - len(new)} of them shown above")
    print(f"{len(differing)} files differ.")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
