"""The first sheet of an XLSX file as lines of text.

What a file says of its own size is never believed. Before the library that reads it sees it, the elements of its parts
are counted as they stream by, because the library builds a tree of each row, string and style.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import IO
from xml.parsers import expat

import openpyxl

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.files.zipped import opened

MOST_UNPACKED = 32 * 1024 * 1024
MOST_ELEMENTS = 700_000  # about 350,000 cells: some 3 s
MOST_STRINGS = 200_000  # elements of the table of strings; each takes the library twenty times a cell's time
MOST_OTHER = 20_000  # elements of any part besides cells and strings: styles, names, links
MOST_SHEETS = 50
MOST_BEFORE = 1024 * 1024  # bytes in front of the cells, which the library reads once for each sheet
LONGEST_TEXT = 32_767  # characters of one cell (Excel specifications and limits)
LONGEST_TAG = 512 * 1024  # bytes
PIECE = 64 * 1024

DAMAGED = _("The file begins like XLSX but is damaged. Save it again, or as CSV UTF-8.")
UNREADABLE = _("The file looks like XLSX but cannot be read. Save it again, or as CSV UTF-8.")
TOO_MUCH = _("The XLSX file holds more than a table needs. Save the sheet alone as CSV UTF-8.")


def xlsx_lines(content: bytes, most_columns: int, most_rows: int) -> Iterator[list[str]]:
    """Lines of the first sheet, with at most one column and one row more than allowed. Raises Refused."""
    try:
        with opened(content, MOST_UNPACKED) as archive:
            for member in archive.infolist():
                with archive.open(member) as part:
                    _PartCount(most_columns).read(part)
            yield from _lines(archive, most_columns, most_rows)
    except (Refused, MemoryError):
        raise
    except zipfile.BadZipFile as wrong:
        raise Refused(Problem(DAMAGED)) from wrong
    except Exception as wrong:  # openpyxl raises whatever its parsers do
        raise Refused(Problem(UNREADABLE)) from wrong


def _lines(archive: zipfile.ZipFile, most_columns: int, most_rows: int) -> Iterator[list[str]]:
    assert archive.fp is not None
    archive.fp.seek(0)
    book = openpyxl.load_workbook(archive.fp, read_only=True, data_only=True)
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    for line in sheet.iter_rows(max_col=most_columns + 1, max_row=most_rows + 1, values_only=True):
        filled = max((place for place, cell in enumerate(line, start=1) if cell is not None), default=0)
        yield [_text(cell) for cell in line[:filled]]


class _PartCount:
    """Counts the elements of one part of the file. What is no XML is left to the library, which refuses it."""

    def __init__(self, most_columns: int) -> None:
        self.kind, self.elements, self.others, self.sheets = "", 0, 0, 0
        self.in_sheet = False
        self.in_row, self.most_in_row = 0, 5 * (most_columns + 1)
        self.text = 0

    def read(self, part: IO[bytes]) -> None:
        parser = self.parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler, parser.EndElementHandler = self._begins, self._ends
        parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = self._says, self._declares
        fed = 0
        try:
            while piece := part.read(PIECE):
                parser.Parse(piece)
                fed += len(piece)
                _refuse_above(fed - parser.CurrentByteIndex, LONGEST_TAG)
        except expat.ExpatError:
            return

    def _begins(self, name: str, attributes: dict[str, str]) -> None:
        tag = name.rpartition(":")[2]
        self.kind = self.kind or tag
        self.elements += 1
        self.text = 0
        if tag == "sheetData":
            self.in_sheet = True
            _refuse_above(self.parser.CurrentByteIndex, MOST_BEFORE)
        elif self.in_sheet:
            self.in_row = 0 if tag == "row" else self.in_row + 1
            _refuse_above(self.in_row, self.most_in_row)
        else:
            self.others += 1
            _refuse_above(self.others, MOST_STRINGS if self.kind == "sst" else MOST_OTHER)
        self.sheets += tag == "sheet"
        _refuse_above(self.sheets, MOST_SHEETS)
        _refuse_above(self.elements, MOST_ELEMENTS)

    def _ends(self, name: str) -> None:
        if name.rpartition(":")[2] == "sheetData":
            self.in_sheet = False

    def _says(self, text: str) -> None:
        self.text += len(text)
        _refuse_above(self.text, LONGEST_TEXT)

    def _declares(self, *what: object) -> None:
        raise Refused(Problem(UNREADABLE))  # nothing that saves tables declares entities


def _refuse_above(number: int, most: int) -> None:
    if number > most:
        raise Refused(Problem(TOO_MUCH))


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
