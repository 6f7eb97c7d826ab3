"""A stock table: item, quantity, length_mm, note."""

from __future__ import annotations

from buildlog.core import cells
from buildlog.core.errors import Problem, Unreadable
from buildlog.core.plan.materials.stock import StockItem, item_key
from buildlog.core.wording import _
from buildlog.core.work.rows import Reading
from buildlog.files.kinds import Cells
from buildlog.files.sheet import read


def stock(content: bytes) -> Reading[StockItem]:
    """item, quantity, length_mm, note → what lies in the store; one row an item and length."""
    sheet = read(content, required=("item", "quantity"), known=("item", "quantity", "length_mm", "note"))
    problems: list[Problem] = []
    rows: dict[tuple[str, float | None], StockItem] = {}
    for line in sheet.rows:
        each = Cells(line, problems)
        made = StockItem(
            item=item_key(each.need("item", lambda text: _short(text, 60), "")),
            quantity=each.need("quantity", lambda text: cells.decimal(text, 0, 1e9), 0.0),
            length_mm=each.take("length_mm", lambda text: cells.decimal(text, 1, 1e7), None),
            note=each.take("note", lambda text: _short(text, 120), ""),
            row=line.number,
        )
        first = rows.setdefault((made.item, made.length_mm), made)
        if first is not made and each.fine:
            each.refuse("item", _("{item} is there twice: row {row} has it already."), item=made.item, row=first.row)
    return Reading(tuple(rows.values()), tuple(problems), sheet.remarks)


def _short(text: str, most: int) -> str:
    if len(text) > most:
        raise Unreadable(
            _("{text!r}… has {text2} characters: at most {most} fit."), text=text[:20], text2=len(text), most=most
        )
    return text
