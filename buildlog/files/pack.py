"""A packed build as one ZIP: a JSON file a table, and a title page that says what is in it.

Same build, same bytes: rows have an order, and the ZIP carries no time of its own.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from dataclasses import dataclass
from typing import Any

import msgspec

from buildlog.core.errors import Problem, Refused
from buildlog.core.pack import FORMAT, Pack, PackedTable
from buildlog.core.wording import _
from buildlog.files.zipped import opened

TITLE = "pack.json"
KIND = "buildlog pack"
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the earliest time that a ZIP can carry


@dataclass(frozen=True, slots=True)
class PackLimits:
    """How much a pack may hold: bytes unpacked, values in all tables, rows in all tables."""

    most_bytes: int
    most_values: int
    most_rows: int


# A build of 20,000 pixels that is done takes about 20 MB. Whoever types a command has the machine's memory to spend;
# the site goes on serving ticks while a pack is read.
BY_COMMAND = PackLimits(512_000_000, 60_000_000, 6_000_000)
BY_BROWSER = PackLimits(32_000_000, 2_500_000, 100_000)
PIECE = 1024 * 1024
TOO_MUCH = _("The pack holds more than is read here. Use the unpack command where the app was started.")
NOT_A_PACK = "This is no packed build: give the ZIP that `pack` or Build settings made."


def to_zip(pack: Pack) -> bytes:
    title = {
        "kind": KIND, "format": FORMAT, "build": pack.code,
        "rows": {name: len(table.rows) for name, table in pack.tables.items()},
    }  # fmt: skip
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as folder:
        _put(folder, TITLE, title)
        for name, table in pack.tables.items():
            _put(folder, f"{name}.json", {"columns": table.columns, "rows": table.rows})
    return out.getvalue()


def _put(folder: zipfile.ZipFile, name: str, content: Any) -> None:
    info = zipfile.ZipInfo(name, LONG_AGO)
    info.compress_type = zipfile.ZIP_DEFLATED
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
    folder.writestr(info, text)


def from_zip(content: bytes, limits: PackLimits = BY_COMMAND) -> Pack:
    """Read a pack. Raises Refused for what is none, is damaged, or comes from a newer program."""
    try:
        with opened(content, limits.most_bytes) as folder:
            return _read(folder, limits)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as wrong:
        raise Refused(Problem(_("{says} ({reason})"), "file", says=NOT_A_PACK, reason=wrong)) from wrong


def _read(folder: zipfile.ZipFile, limits: PackLimits) -> Pack:
    _refuse_too_many(folder, limits.most_values)
    title = _json(folder, TITLE)
    if not isinstance(title, dict) or title.get("kind") != KIND or not isinstance(title.get("rows"), dict):
        raise Refused(Problem(NOT_A_PACK, "file"))
    if title.get("format") != FORMAT:
        what = f"The pack has format {title.get('format')}, this program reads {FORMAT}"
        raise Refused(Problem(_("{what}: unpack it with the program's newest version."), "file", what=what))
    if sum(rows for rows in title["rows"].values() if isinstance(rows, int)) > limits.most_rows:
        raise Refused(Problem(TOO_MUCH, "file"))
    return Pack({name: _table(folder, name, number) for name, number in title["rows"].items()})


def _refuse_too_many(folder: zipfile.ZipFile, most: int) -> None:
    """Count what begins a value, before any is made: each takes twenty times its bytes in memory."""
    for info in folder.infolist():
        with folder.open(info) as member:
            while piece := member.read(PIECE):
                most -= sum(map(piece.count, (b",", b"[", b"{")))
        if most < 0:
            raise Refused(Problem(TOO_MUCH, "file"))


def _table(folder: zipfile.ZipFile, name: str, number: Any) -> PackedTable:
    table = _json(folder, f"{name}.json")
    columns, rows = (table.get("columns"), table.get("rows")) if isinstance(table, dict) else (None, None)
    if not isinstance(columns, list) or not isinstance(rows, list) or len(rows) != number:
        raise Refused(
            Problem(
                _("{name}.json does not hold the {rows} rows that {title} speaks of."),
                "file",
                name=name,
                rows=number,
                title=TITLE,
            )
        )
    for place, row in enumerate(rows, start=1):
        if not isinstance(row, list) or len(row) != len(columns):
            raise Refused(
                Problem(
                    _("{name}.json, row {row}: {columns} cells are wanted."),
                    "file",
                    name=name,
                    row=place,
                    columns=len(columns),
                )
            )
    return PackedTable(tuple(map(str, columns)), tuple(map(tuple, rows)))


def _json(folder: zipfile.ZipFile, name: str) -> Any:
    try:
        return msgspec.json.decode(folder.read(name))  # takes no half surrogate pairs, no numbers beyond all bounds
    except KeyError as wrong:
        raise Refused(Problem(_("{says} It has no {name}."), "file", says=NOT_A_PACK, name=name)) from wrong
    except (msgspec.DecodeError, ValueError, RecursionError) as wrong:
        raise Refused(
            Problem(_("{name} in the pack cannot be read: {reason}."), "file", name=name, reason=wrong)
        ) from wrong
