"""Segment labels: a sheet of rows × columns, or one a page for a strip printer.

+--------------------+
| QQQQQ  R12-3       |   Q = QR code with its quiet zone
| QQQQQ  40 pixels   |
| QQQQQ  channel 3   |
| 7Q4K2              |   the key in letters, for when the address of the laptop has changed
+--------------------+
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.labels import SegmentLabel
from buildlog.paper.page import A4, RULER_MM, SOFT, Paper, Size
from buildlog.paper.symbol import QUIET, Symbol

KEY_MM = 3.2  # room for the key under the code
PAD_MM = 1.0
RULER_ROOM_MM = 6.0
MOST_LABELS = 2_000


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """How labels lie on a sheet [mm]; they are numbered from 1, row by row from the upper left."""

    paper: Size = A4
    rows: int = 8
    columns: int = 3
    top: float = 8.5
    bottom: float = 8.5
    left: float = 7.0
    right: float = 7.0
    gap_x: float = 2.0
    gap_y: float = 0.0
    start: int = 1
    dpi: int = 203
    frames: bool = False
    ruler: bool = True  # a line of 50 mm on each sheet whose margin has room for it

    def __post_init__(self) -> None:
        if problems := list(_problems(self)):
            raise Refused(problems)

    @property
    def width(self) -> float:
        """Of one label [mm]."""
        return (self.paper.width - self.left - self.right - (self.columns - 1) * self.gap_x) / self.columns

    @property
    def height(self) -> float:
        return (self.paper.height - self.top - self.bottom - (self.rows - 1) * self.gap_y) / self.rows

    def corner(self, number: int) -> tuple[float, float]:
        """x, y [mm] of label ``number`` on its page, counted from 0."""
        row, column = divmod(number, self.columns)
        return self.left + column * (self.width + self.gap_x), self.top + row * (self.height + self.gap_y)


def _problems(sheet: LabelSheet) -> Iterator[Problem]:
    for name, least, most in (("rows", 1, 40), ("columns", 1, 12), ("dpi", 150, 1200)):
        value = getattr(sheet, name)
        if not least <= value <= most:
            yield Problem(
                _("{name} is {found}; allowed: {least} to {most}."),
                name,
                name=name,
                found=value,
                least=least,
                most=most,
            )
            return
    if not 1 <= sheet.start <= sheet.rows * sheet.columns:
        yield Problem(
            _("The first free label is {start}; a sheet has {rows}."),
            "start",
            start=sheet.start,
            rows=sheet.rows * sheet.columns,
        )
    for name in ("top", "bottom", "left", "right", "gap_x", "gap_y"):
        if not 0 <= getattr(sheet, name) <= 100:
            yield Problem(
                _("{name} is {getattr:g} mm; allowed: 0 to 100."), name, name=name, getattr=getattr(sheet, name)
            )
    if sheet.width < 15 or sheet.height < 15:
        yield Problem(
            _(
                "That leaves {width:.1f} × {height:.1f} mm a label; at least 15 × 15 are needed: take "
                "fewer rows or columns, or smaller margins."
            ),
            width=sheet.width,
            height=sheet.height,
        )


def sheets(labels: Sequence[SegmentLabel], base: str, sheet: LabelSheet, title: str) -> bytes:
    """The labels on as many sheets as they need, with a ruler on each that has room for it. Raises Refused."""
    check_number(labels)
    paper = Paper(sheet.paper, title)
    left, number = iter(labels), sheet.start - 1
    while page := list(islice(left, sheet.rows * sheet.columns - number)):
        for offset, label in enumerate(page, number):
            _draw(paper, label, base, (*sheet.corner(offset), sheet.width, sheet.height), sheet)
        _ruler(paper, sheet)
        paper.turn()
        number = 0
    return paper.bytes()


def strip(labels: Sequence[SegmentLabel], base: str, size: Size, dpi: int, title: str, ruler: bool = True) -> bytes:
    """One label a page, for a strip printer; the page is the label. ``ruler``: on a first page, where it fits."""
    check_number(labels)
    sheet = LabelSheet(size, rows=1, columns=1, top=0, bottom=0, left=0, right=0, gap_x=0, dpi=dpi)
    paper = Paper(size, title)
    if ruler and size.width >= 55:
        paper.ruler((size.width - 50) / 2, size.height / 2)
        paper.text(size.width / 2, size.height / 2 + 4, "Lay a rule here: 50 mm.", 7, align="centre")
        paper.turn()
    for label in labels:
        _draw(paper, label, base, (0, 0, size.width, size.height), sheet)
        paper.turn()
    return paper.bytes()


def check_number(labels: Sequence[SegmentLabel]) -> None:
    """Raises Refused when there are none, or more than one print should hold."""
    if not labels:
        raise Refused(Problem(_("No segment is chosen: choose some on the Sphere, or name them."), "segments"))
    if len(labels) > MOST_LABELS:
        raise Refused(
            Problem(
                _("{labels} labels at once are too many: at most {most_labels}."),
                "segments",
                labels=len(labels),
                most_labels=MOST_LABELS,
            )
        )


def _draw(
    paper: Paper, label: SegmentLabel, base: str, place: tuple[float, float, float, float], sheet: LabelSheet
) -> None:
    x, y, width, height = place
    symbol = Symbol.of(base, label.key)
    module = symbol.module_mm(min(height - KEY_MM, width - 2 * PAD_MM), sheet.dpi)
    side = symbol.modules * module
    top = y + (height - side - KEY_MM) / 2
    if sheet.frames:
        paper.box(x, y, width, height, line=0.1)
    symbol.draw(paper, x + PAD_MM, top, module)
    paper.text(x + PAD_MM + side / 2, top + side + 1.8, label.key, 7, align="centre", room=side)
    _words(paper, label, (x + PAD_MM + side, top + QUIET * module, width - side - 2 * PAD_MM))


def _words(paper: Paper, label: SegmentLabel, place: tuple[float, float, float]) -> None:
    x, y, room = place
    if room < 8:
        return  # a square label: the code alone
    paper.text(x, y + 5.5, label.code, 20, bold=True, room=room)
    for line, text in enumerate(label.lines):
        paper.text(x, y + 10 + 3.6 * line, text, 8, room=room, colour=SOFT)


def _ruler(paper: Paper, sheet: LabelSheet) -> None:
    if not sheet.ruler:
        return
    if sheet.bottom >= RULER_ROOM_MM:
        y = sheet.paper.height - sheet.bottom / 2 + 1.2
    elif sheet.top >= RULER_ROOM_MM:
        y = sheet.top / 2 + 1.2
    else:
        return
    paper.ruler(10, y)
    paper.text(10 + RULER_MM + 2, y, "50 mm. If not, print again at 100 %, not fitted to the page.", 6, colour=SOFT)
