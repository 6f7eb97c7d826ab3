"""A packed build as one ZIP: a JSON file a table, and a title page that says what is in it.

Same build, same bytes: rows have an order, and the ZIP carries no time of its own.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.pack import FORMAT, Pack, PackedTable
from buildlog.core.wording import _

TITLE = "pack.json"
KIND = "buildlog pack"
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the earliest time that a ZIP can carry
MOST_BYTES = 512 * 1024 * 1024  # unpacked; a build of 20,000 pixels that is done takes about 20 MB
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


def from_zip(content: bytes) -> Pack:
    """Read a pack. Raises Refused for what is none, is damaged, or comes from a newer program."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as folder:
            return _read(folder)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as wrong:
        raise Refused(Problem(_("{says} ({reason})"), "file", says=NOT_A_PACK, reason=wrong)) from wrong


def _read(folder: zipfile.ZipFile) -> Pack:
    if sum(info.file_size for info in folder.infolist()) > MOST_BYTES:
        raise Refused(
            Problem(
                _("The pack unfolds to more than {most} MiB: it is no build of ours."),
                "file",
                most=MOST_BYTES >> 20,
            )
        )
    title = _json(folder, TITLE)
    if not isinstance(title, dict) or title.get("kind") != KIND or not isinstance(title.get("rows"), dict):
        raise Refused(Problem(NOT_A_PACK, "file"))
    if title.get("format") != FORMAT:
        what = f"The pack has format {title.get('format')}, this program reads {FORMAT}"
        raise Refused(Problem(_("{what}: unpack it with the program's newest version."), "file", what=what))
    return Pack({name: _table(folder, name, number) for name, number in title["rows"].items()})


def _table(folder: zipfile.ZipFile, name: str, number: Any) -> PackedTable:
    said = _json(folder, f"{name}.json")
    columns, rows = (said.get("columns"), said.get("rows")) if isinstance(said, dict) else (None, None)
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
        return json.loads(folder.read(name))
    except KeyError as wrong:
        raise Refused(Problem(_("{says} It has no {name}."), "file", says=NOT_A_PACK, name=name)) from wrong
    except (ValueError, RecursionError) as wrong:
        raise Refused(
            Problem(_("{name} in the pack cannot be read: {reason}."), "file", name=name, reason=wrong)
        ) from wrong
