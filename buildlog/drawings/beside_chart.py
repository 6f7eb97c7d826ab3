"""Finish dates of what-ifs below today's: from 10 to 90 % sure, with 50 and 80 % marked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from buildlog.core.forecast.questions.compare import Column, Comparison
from buildlog.core.forecast.result.document.forecast import SURE
from buildlog.drawings.axes import Frame, days, time_axis
from buildlog.drawings.picture import FONT, Dot, DrawnLine, Picture, Shape, Words, as_svg, text_width
from buildlog.drawings.svg import Markup, join
from buildlog.drawings.ticks import day_name

SIZES = {"narrow": 340.0, "wide": 820.0}
ROW, TOP, UNDER, EDGE = 52.0, 24.0, 28.0, 6.0


def beside_drawing(comparison: Comparison | None, as_of: datetime | None, zone: ZoneInfo) -> Markup:
    """For a phone and for more; "" where there is nothing to compare."""
    if comparison is None or as_of is None:
        return Markup("")
    drawn = ((beside_chart(comparison, as_of, zone, width), size) for size, width in SIZES.items())
    return join(as_svg(picture, size) for picture, size in drawn if picture is not None)


def beside_chart(comparison: Comparison, as_of: datetime, zone: ZoneInfo, width: float) -> Picture | None:
    """One row a forecast; None where none of them sees a finish."""
    moments = [moment for column in comparison.columns for moment in _ready(column).values()]
    if not moments:
        return None
    targets = {column.figures.target.date for column in comparison.columns if column.figures.target}
    begin, end = min(as_of, *moments), max(*moments, *targets, as_of + timedelta(days=1))
    height = TOP + ROW * len(comparison.columns) + UNDER
    frame = Frame(EDGE, TOP, width - EDGE, height - UNDER, days(begin), days(end + (end - begin) * 0.04))
    shapes: list[Shape] = [*time_axis(frame, begin, end, zone)]
    for number, column in enumerate(comparison.columns):
        shapes += _row(frame, column, TOP + ROW * number, zone)
    says = " ".join(f"{column.name}: {_says(column, zone)}." for column in comparison.columns)
    return Picture("beside", width, height, "Finish dates beside each other", says, tuple(shapes))


def _ready(column: Column) -> dict[int, datetime]:
    """Percent sure → ready by, where that is known."""
    return {sure: moment for sure in SURE if (moment := column.figures.finish.at(sure))}


def _row(frame: Frame, column: Column, top: float, zone: ZoneInfo) -> Iterator[Shape]:
    ready = _ready(column)
    middle = top + 36
    yield Words(frame.left, top + FONT + 3, _shorter(column.name, frame.right - frame.left), "name")
    if column.figures.target:
        x = frame.x(days(column.figures.target.date))
        yield DrawnLine(((x, top + 22), (x, top + ROW - 2)), "target")
    for (_, early), (_, late) in pairwise(sorted(ready.items())):
        yield DrawnLine(((frame.x(days(early)), middle), (frame.x(days(late)), middle)), "span")
    for sure, moment in ready.items():
        if sure in (50, 80):
            yield Dot(frame.x(days(moment)), middle, "odds-dot" if sure == 80 else "past-dot", 6 if sure == 80 else 4)
    yield Words(frame.right, top + FONT + 3, _says(column, zone), "label", "end")


def _says(column: Column, zone: ZoneInfo) -> str:
    ready = column.figures.finish.p80
    return f"80 %: {day_name(ready, zone)}" if ready else "80 %: no date"


def _shorter(name: str, room: float) -> str:
    """The name, cut where the date beside it begins."""
    room -= text_width("80 %: Mon 28 Dec") + 16
    if text_width(name) <= room:
        return name
    return name[: max(1, int(len(name) * room / text_width(name)) - 1)].rstrip() + "…"
