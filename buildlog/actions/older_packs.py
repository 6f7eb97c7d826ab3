"""Packs of releases that kept no rings: these are computed once as such a pack is taken in, and its rows hold."""

from __future__ import annotations

from buildlog.core.errors import Refused
from buildlog.core.pack import Pack, PackedTable
from buildlog.core.plan.on_file import Row, complete

WIRING = frozenset({"channels", "supplies"})


def with_rings(pack: Pack) -> Pack:
    """The pack with rings, with segments on them, with where each run begins, and with what is built."""
    rows = {name: _rows(pack.tables[name]) for name in ("plans", "segments", "runs")}
    try:
        rows["rings"] = complete(*rows.values())
    except (KeyError, TypeError, ValueError, IndexError, AttributeError, Refused):
        return pack  # what does not fit is named as the rows are taken in
    return Pack({**pack.tables, **{name: _table(pack.tables[name], made) for name, made in rows.items()}})


def with_wiring_apart(pack: Pack) -> Pack:
    """The pack with the wiring in a column of its own, where what is built held both."""
    rows = _rows(pack.tables["plans"])
    for row in rows:
        if isinstance(row.get("built"), dict) and not row.get("wiring") and row["built"].keys() >= WIRING:
            row["wiring"] = {name: row["built"][name] for name in WIRING}
            row["built"] = {name: value for name, value in row["built"].items() if name not in WIRING}
    return Pack({**pack.tables, "plans": _table(pack.tables["plans"], rows)})


def _rows(table: PackedTable) -> list[Row]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def _table(table: PackedTable, rows: list[Row]) -> PackedTable:
    return PackedTable(table.columns, tuple(tuple(row[column] for column in table.columns) for row in rows))
