"""A whole build as plain tables: what a packed build holds, whatever it is kept in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

FORMAT = 1  # raised when an older program could misread a pack


@dataclass(frozen=True, slots=True)
class PackedTable:
    """One table: column names and rows of JSON values. A cell that points at another row holds its place there.

    Places count from 1 in the order of the other table's rows, so that a pack says the same whatever numbers a
    database gave the rows.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]


@dataclass(frozen=True, slots=True)
class Pack:
    """A build by table name. Two packs are equal when they say the same."""

    tables: Mapping[str, PackedTable]

    @property
    def code(self) -> str:
        build = self.tables["build"]
        return str(build.rows[0][build.columns.index("code")])
