"""Tables out: CSV in UTF-8 with a byte order mark, and XLSX.

A spreadsheet takes a text that begins with = + - @ for a formula and would run it: such a text gets an apostrophe in
front (OWASP, "CSV Injection"). Numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import openpyxl

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

Cell = str | int | float | bool | None
FORMULA = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")  # the last four are full-width: Excel takes them too
MOST_XLSX_ROWS = 1_048_575  # what a sheet holds beside its header
AT_ONCE = 2_000  # rows a piece of CSV holds


@dataclass(frozen=True)
class Table:
    """A table on its way out. ``rows`` is walked once; every row has a cell for each of ``columns``."""

    columns: tuple[str, ...]
    rows: Iterable[Sequence[Cell]]


def csv_pieces(table: Table) -> Iterator[bytes]:
    """The CSV file piece by piece, so that a million rows need no memory."""
    lines = io.StringIO(newline="")
    writer = csv.writer(lines)
    lines.write("\ufeff")
    writer.writerow(table.columns)
    for number, row in enumerate(table.rows, start=1):
        writer.writerow([_plain(cell) for cell in row])
        if number % AT_ONCE == 0:
            yield lines.getvalue().encode()
            lines.seek(0)
            lines.truncate()
    yield lines.getvalue().encode()


def as_csv(table: Table) -> bytes:
    """The whole CSV file."""
    return b"".join(csv_pieces(table))


def as_xlsx(table: Table) -> bytes:
    """The whole XLSX file, one sheet. Raises Refused when a sheet cannot hold the rows."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("table")
    sheet.freeze_panes = "A2"
    sheet.append(table.columns)
    for number, row in enumerate(table.rows, start=1):
        if number > MOST_XLSX_ROWS:
            raise Refused(
                Problem(
                    _("An XLSX sheet holds {most:,} rows and the table has more: take CSV instead."),
                    most=MOST_XLSX_ROWS,
                )
            )
        sheet.append([_plain(cell) for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _plain(cell: Cell) -> Cell:
    """The cell as it is written: no formulas, yes or nothing for a switch, nothing for None."""
    if isinstance(cell, bool):
        return "yes" if cell else ""
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(FORMULA) else cell
    return "" if cell is None else cell
