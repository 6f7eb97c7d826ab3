"""A table as a lead saves it: CSV in any of its dialects, or XLSX, read into rows of text.

Rows are counted as a spreadsheet counts them: the header is row 1.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from buildlog.core import sizes
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import Sentence, _
from buildlog.files.xlsx import xlsx_lines

MOST_ROWS = 220_000
MOST_COLUMNS = 100
LONGEST_ROW = 100_000  # characters
EMPTY = _("The file is empty: it needs a header row and at least one row under it.")


@dataclass(frozen=True)
class SheetRow:
    """One row: its number in the sheet, and the text of each known column ("" where empty)."""

    number: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def problem(self, column: str, says: str | Sentence, /, **values: object) -> Problem:
        return Problem(says, column, self.number, **values)


@dataclass(frozen=True)
class Sheet:
    """The rows of a file under the columns that it was asked for, and the columns nobody knows.

    ``rows`` is walked once, and the file is read as it is walked: Refused may still come then.
    """

    columns: frozenset[str]
    rows: Iterator[SheetRow]
    unknown: tuple[str, ...] = ()

    @property
    def remarks(self) -> tuple[str, ...]:
        return tuple(f"column {name!r} is not known and was left out" for name in self.unknown)


def read(content: bytes, *, required: Iterable[str], known: Iterable[str]) -> Sheet:
    """Read a CSV or XLSX file. Raises Refused when it is not a table with the required columns and a row."""
    if not content.strip():
        raise Refused(Problem(EMPTY))
    if len(content) > sizes.TABLE:
        raise Refused(
            Problem(
                _("The file has {size:.1f} MB; at most {most} MB are read. Leave out what is not needed, or split it."),
                size=len(content) / 1e6,
                most=sizes.TABLE // 1_000_000,
            )
        )
    return _under_header(_lines(content), tuple(required), tuple(known))


def _lines(content: bytes) -> Iterator[list[str]]:
    if content.startswith(b"PK\x03\x04"):
        return xlsx_lines(content, MOST_COLUMNS, MOST_ROWS)
    _refuse_other_text(content)
    return _csv_lines(content)


def _refuse_other_text(content: bytes) -> None:
    try:
        content.decode()
    except UnicodeDecodeError as wrong:
        raise Refused(
            Problem(
                _("The file is not UTF-8: byte {place} is 0x{byte:02x}. Save it again as “CSV UTF-8”, or as XLSX."),
                place=wrong.start + 1,
                byte=content[wrong.start],
            )
        ) from wrong
    if (place := content.find(b"\x00")) >= 0:
        line = content.count(b"\n", 0, place) + 1
        raise Refused(
            Problem(
                _("Row {line} holds a NUL character: this is not a plain text table. Save it again as CSV UTF-8."),
                line=line,
            )
        )


def _csv_lines(content: bytes) -> Iterator[list[str]]:
    header = content.removeprefix(codecs.BOM_UTF8).lstrip().split(b"\n", 1)[0][:LONGEST_ROW]
    delimiter = max("\t;,", key=lambda mark: header.count(mark.encode()))  # the first of them wins a draw
    text = io.TextIOWrapper(io.BytesIO(content), encoding="utf-8-sig", newline="")
    lines = _Lines(text)
    try:
        for row in csv.reader(lines, delimiter=delimiter, strict=True):
            yield row
            lines.begin_row()
    except csv.Error as wrong:
        raise Refused(
            Problem(
                _("The quotes in the file do not match up ({reason}): save it again from the spreadsheet."),
                reason=wrong,
            )
        ) from wrong


class _Lines:
    """Lines of a text, no more of them to a row of the table than one can need."""

    def __init__(self, text: io.TextIOWrapper) -> None:
        self.text, self.row, self.used = text, 1, 0

    def begin_row(self) -> None:
        self.row, self.used = self.row + 1, 0

    def __iter__(self) -> Iterator[str]:
        while line := self.text.readline(LONGEST_ROW + 1):
            self.used += len(line)
            if self.used > LONGEST_ROW:
                raise Refused(
                    Problem(
                        _("Row {row} has more than {most:,} characters. Check its line breaks and quotes."),
                        row=self.row,
                        most=LONGEST_ROW,
                    )
                )
            yield line


def _under_header(lines: Iterator[list[str]], required: tuple[str, ...], known: tuple[str, ...]) -> Sheet:
    numbered = enumerate(lines, start=1)
    header = next(([cell.strip().lower() for cell in line] for _, line in numbered if any(map(str.strip, line))), None)
    if header is None:
        raise Refused(Problem(EMPTY))
    _refuse_bad_header(header, required)
    places = {name: place for place, name in enumerate(header) if name in known}
    rows = _rows(numbered, places)
    first = next(rows, None)
    if first is None:
        raise Refused(Problem(_("The file has a header row and nothing under it: add at least one row.")))
    unknown = tuple(name for name in header if name and name not in known)
    return Sheet(frozenset(places), chain((first,), rows), unknown)


def _rows(lines: Iterable[tuple[int, list[str]]], places: dict[str, int]) -> Iterator[SheetRow]:
    """Rows that hold anything at all under a column that is known or not."""
    for number, line in lines:
        if number > MOST_ROWS:
            raise Refused(Problem(_("The file has more than {most:,} rows. Split it."), most=MOST_ROWS))
        if any(map(str.strip, line)):
            yield SheetRow(number, {name: line[at].strip() for name, at in places.items() if at < len(line)})


def _refuse_bad_header(header: Sequence[str], required: tuple[str, ...]) -> None:
    if len(header) > MOST_COLUMNS:
        raise Refused(
            Problem(_("The file has more than {most} columns. Delete those that are not needed."), most=MOST_COLUMNS)
        )
    missing = [name for name in required if name not in header]
    if missing:
        raise Refused(
            [
                Problem(_("The column is missing: found {names}."), name, 1, names=", ".join(filter(None, header)))
                for name in missing
            ]
        )
    for name, times in Counter(header).items():
        if name and times > 1:
            raise Refused(Problem(_("The column is there twice: keep one of them."), name, 1))
