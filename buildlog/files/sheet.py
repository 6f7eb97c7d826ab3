"""A table as a lead saves it: CSV in any of its dialects, or XLSX, read into rows of text.

Rows are counted as a spreadsheet counts them: the header is row 1.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

import openpyxl

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import Sentence, _

MOST_BYTES = 2 * 1024 * 1024
MOST_UNPACKED = 20 * 1024 * 1024
MOST_MEMBERS = 200
MOST_RATIO = 100
MOST_ROWS = 100_000


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
    """The rows of a file under the columns that it was asked for, and the columns nobody knows."""

    columns: frozenset[str]
    rows: tuple[SheetRow, ...]
    unknown: tuple[str, ...] = ()

    @property
    def remarks(self) -> tuple[str, ...]:
        return tuple(f"column {name!r} is not known and was left out" for name in self.unknown)


def read(content: bytes, *, required: Iterable[str], known: Iterable[str]) -> Sheet:
    """Read a CSV or XLSX file. Raises Refused when it is not a table with the required columns and a row."""
    if not content.strip():
        raise Refused(Problem(_("The file is empty: it needs a header row and at least one row under it.")))
    if len(content) > MOST_BYTES:
        raise Refused(
            Problem(
                _("The file has {size:.1f} MB; at most 2 MB are read: leave out what is not needed."),
                size=len(content) / 1e6,
            )
        )
    lines = _xlsx_lines(content) if content.startswith(b"PK\x03\x04") else _csv_lines(_decoded(content))
    return _under_header(lines, tuple(required), tuple(known))


def _decoded(content: bytes) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise Refused(
            Problem(
                _("The file is not UTF-8: byte {place} is 0x{byte:02x}. Save it again as “CSV UTF-8”, or as XLSX."),
                place=wrong.start + 1,
                byte=content[wrong.start],
            )
        ) from wrong
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        raise Refused(
            Problem(
                _("Row {line} holds a NUL character: this is not a plain text table. Save it again as CSV UTF-8."),
                line=line,
            )
        )
    return text


def _csv_lines(text: str) -> list[list[str]]:
    header = text.lstrip().split("\n", 1)[0]
    delimiter = max("\t;,", key=header.count)  # the first of them wins a draw
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as wrong:
        raise Refused(
            Problem(
                _("The quotes in the file do not match up ({reason}): save it again from the spreadsheet."),
                reason=wrong,
            )
        ) from wrong


def _xlsx_lines(content: bytes) -> list[list[str]]:
    _refuse_bomb(content)
    try:
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    except Exception as wrong:  # openpyxl raises whatever its parsers do
        raise Refused(
            Problem(_("The file looks like XLSX but cannot be read: save it again, or as CSV UTF-8."))
        ) from wrong
    return [[_text(cell) for cell in line] for line in book.worksheets[0].iter_rows(values_only=True)]


def _refuse_bomb(content: bytes) -> None:
    try:
        members = zipfile.ZipFile(io.BytesIO(content)).infolist()
    except zipfile.BadZipFile as wrong:
        raise Refused(
            Problem(_("The file begins like XLSX but is damaged: save it again, or as CSV UTF-8."))
        ) from wrong
    unpacked = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS or unpacked > MOST_UNPACKED or unpacked > MOST_RATIO * len(content):
        raise Refused(
            Problem(
                _("The XLSX file unpacks to more than a table of ours can need: save the sheet alone as CSV UTF-8.")
            )
        )


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time(0) else cell.isoformat(sep=" ")
    if isinstance(cell, date | time):
        return cell.isoformat()
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)


def _under_header(lines: Sequence[Sequence[str]], required: tuple[str, ...], known: tuple[str, ...]) -> Sheet:
    top = next((n for n, line in enumerate(lines) if any(cell.strip() for cell in line)), None)
    if top is None:
        raise Refused(Problem(_("The file is empty: it needs a header row and at least one row under it.")))
    header = [cell.strip().lower() for cell in lines[top]]
    _refuse_bad_header(header, required)
    rows = tuple(
        SheetRow(number, {name: cell.strip() for name, cell in zip(header, line, strict=False) if name in known})
        for number, line in enumerate(lines[top + 1 :], start=top + 2)
        if any(cell.strip() for cell in line)
    )
    if not rows:
        raise Refused(Problem(_("The file has a header row and nothing under it: add at least one row.")))
    if len(rows) > MOST_ROWS:
        raise Refused(
            Problem(
                _("The file has {rows} rows; at most {most} are read at once: split it."),
                rows=len(rows),
                most=MOST_ROWS,
            )
        )
    unknown = tuple(name for name in header if name and name not in known)
    return Sheet(frozenset(header) & frozenset(known), rows, unknown)


def _refuse_bad_header(header: Sequence[str], required: tuple[str, ...]) -> None:
    missing = [name for name in required if name not in header]
    if missing:
        raise Refused(
            [
                Problem(_("The column is missing: found {names}."), name, 1, names=", ".join(filter(None, header)))
                for name in missing
            ]
        )
    for name in set(header):
        if name and header.count(name) > 1:
            raise Refused(Problem(_("The column is there twice: keep one of them."), name, 1))
