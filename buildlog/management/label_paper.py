"""`paper labels`: its options and the print they make."""

from __future__ import annotations

import re
from argparse import ArgumentParser
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build
from buildlog.network import own_addresses
from buildlog.paper.labels import LabelSheet, sheets, strip
from buildlog.paper.page import SIZES, Size
from buildlog.queries.labels import labels_of

HELP = "segment labels with a QR code each, on sheets or one a page"


def add_options(parser: ArgumentParser) -> None:
    parser.add_argument("--segments", default="", help='such as R12-3, a ring R12, a range "R12 to R20"; default all')
    parser.add_argument("--base", help="address of this site as the phones see it (default: this machine's)")
    parser.add_argument("--paper", choices=sorted(SIZES), default="A4", help="sheet size (default A4)")
    parser.add_argument("--strip", metavar="WxH", help="one label a page of this size in mm, for a strip printer")
    parser.add_argument("--frames", action="store_true", help="draw a line around each label, to cut along")
    parser.add_argument("--no-ruler", dest="ruler", action="store_false", help="leave out the 50 mm line to check by")
    for name, what in (("rows", "rows"), ("columns", "columns"), ("start", "number of the first free label")):
        parser.add_argument(f"--{name}", type=int, default=getattr(DEFAULT, name), help=f"{what} (default %(default)s)")
    for name in ("top", "bottom", "left", "right", "gap-x", "gap-y"):
        default = getattr(DEFAULT, name.replace("-", "_"))
        parser.add_argument(f"--{name}", type=float, default=default, help="mm (default %(default)s)")
    parser.add_argument("--dpi", type=int, default=203, help="dots per inch of the printer (default %(default)s)")


DEFAULT = LabelSheet()


def make(build: Build, options: dict[str, Any]) -> bytes:
    labels = labels_of(build, options["segments"])
    base, title = options["base"] or own_base(), f"Labels, {build.name}"
    if options["strip"]:
        return strip(labels, base, _strip_size(options["strip"]), options["dpi"], title, options["ruler"])
    names = ("rows", "columns", "top", "bottom", "left", "right", "gap_x", "gap_y", "start", "dpi", "frames", "ruler")
    return sheets(labels, base, LabelSheet(SIZES[options["paper"]], **{name: options[name] for name in names}), title)


def own_base() -> str:
    """Where the phones on this network find a site that `serve` runs here."""
    return f"http://{next(iter(own_addresses()), '127.0.0.1')}:8000"


def _strip_size(text: str) -> Size:
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)", text.strip())
    if match is None:
        raise Refused(Problem(_("{text!r} is no size: write width x height in mm, like 62x29."), "--strip", text=text))
    return Size("strip", float(match[1]), float(match[2]))
