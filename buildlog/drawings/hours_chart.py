"""Person-hours by kind of work: logged, left, and how far the trials spread."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildlog.core.forecast.result.document.forecast import LabourHours
from buildlog.drawings.axes import Frame, round_steps
from buildlog.drawings.picture import FONT, DrawnLine, Picture, Shape, Words, bar

PITCH, BAR = 50.0, 16.0
TOP, UNDER, EDGE = 4.0, 28.0, 4.0


def hours_chart(rows: Sequence[LabourHours], width: float) -> Picture | None:
    """One bar a kind of work; None when there is nothing to draw."""
    most = max((row.logged + row.left.p90 for row in rows), default=0.0)
    if most <= 0:
        return None
    height = TOP + PITCH * len(rows) + UNDER
    frame = Frame(EDGE, TOP, width - EDGE, height - UNDER, 0.0, most * 1.02)
    shapes = [*_axis(frame)]
    for number, row in enumerate(rows):
        shapes += _row(frame, row, TOP + PITCH * number)
    says = " ".join(f"{row.work}: {row.logged:,.0f} logged, {row.left.p50:,.0f} left." for row in rows)
    return Picture("hours", width, height, "Person-hours logged and left, by kind of work", says, tuple(shapes))


def _axis(frame: Frame) -> Iterator[Shape]:
    for hours in round_steps(frame.x_to, 5):
        x = frame.x(hours)
        yield DrawnLine(((x, frame.top), (x, frame.bottom)), "grid")
        yield Words(x, frame.bottom + FONT + 2, f"{hours:,g}", "tick", "start" if hours == 0 else "middle")


def _row(frame: Frame, row: LabourHours, top: float) -> Iterator[Shape]:
    upper, lower = top + 24, top + 24 + BAR
    logged, left = frame.x(row.logged), frame.x(row.logged + row.left.p50)
    yield Words(frame.left, top + 17, row.work, "name")
    yield Words(frame.right, top + 17, _numbers(row), "label", "end")
    if row.logged > 0:
        yield bar(frame.left, upper, logged, lower, "logged")
    if row.left.p50 > 0:
        yield bar(logged, upper, left, lower, "left")
    if row.left.p90 > row.left.p10:
        low, high, middle = frame.x(row.logged + row.left.p10), frame.x(row.logged + row.left.p90), (upper + lower) / 2
        yield DrawnLine(((low, middle), (high, middle)), "whisker")
        for x in (low, high):
            yield DrawnLine(((x, middle - 5), (x, middle + 5)), "whisker")


def _numbers(row: LabourHours) -> str:
    if row.left.p90 <= 0:
        return f"{row.logged:,.1f} h, done"
    return f"{row.logged:,.1f} h logged, {row.left.p50:,.1f} left"
