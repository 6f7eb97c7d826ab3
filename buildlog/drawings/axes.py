"""Scales and their ticks: days along an edge, shares and hours along another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from math import ceil, floor, log10
from zoneinfo import ZoneInfo

from buildlog.drawings.picture import FONT, Line, Shape, Words, text_width

DAY_STEPS = (1, 2, 7, 14, 28, 56, 112, 364)


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of a sheet in which things are plotted, and what its edges stand for (y of the lower and upper one)."""

    left: float
    top: float
    right: float
    bottom: float
    x_from: float
    x_to: float
    y_from: float = 0.0
    y_to: float = 1.0

    def x(self, value: float) -> float:
        return self.left + (self.right - self.left) * (value - self.x_from) / (self.x_to - self.x_from)

    def y(self, value: float) -> float:
        return self.bottom - (self.bottom - self.top) * (value - self.y_from) / (self.y_to - self.y_from)

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.x(x), self.y(y)


def days(moment: datetime) -> float:
    """A moment as a place on a scale of days."""
    return moment.timestamp() / 86400


def day_name(moment: datetime, zone: ZoneInfo) -> str:
    """Sat 19 Dec."""
    local = moment.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b}"


def day_ticks(begin: datetime, end: datetime, zone: ZoneInfo, most: int) -> Iterator[datetime]:
    """Local midnights, at most so many: every day, every other, or Mondays some weeks apart."""
    first = begin.astimezone(zone).date() + timedelta(days=1)
    last = end.astimezone(zone).date()
    span = (last - first).days
    step = next((step for step in DAY_STEPS if span / step < most - 1), DAY_STEPS[-1])
    if step >= 7:
        first += timedelta(days=-first.weekday() % 7)
    while first <= last:
        yield datetime.combine(first, time(), zone)
        first += timedelta(days=step)


def day_axis(frame: Frame, begin: datetime, end: datetime, zone: ZoneInfo) -> Iterator[Shape]:
    """Days along the lower edge: a mark at each midnight, its date to the right of it, a line up where it is quiet."""
    wide = text_width("Mon 28 Dec") + 12
    for moment in day_ticks(begin, end, zone, max(2, floor((frame.right - frame.left) / wide))):
        x = frame.x(days(moment))
        yield Line(((x, frame.top), (x, frame.bottom + 5)), "grid")
        if x + wide - 12 <= frame.right + 8:
            yield Words(x + 3, frame.bottom + FONT + 4, day_name(moment, zone), "tick")


def share_axis(frame: Frame, marks: tuple[float, ...] = (0.0, 0.25, 0.5, 0.75, 1.0)) -> Iterator[Shape]:
    """Shares in per cent along the left edge."""
    for share in marks:
        y = frame.y(share)
        yield Line(((frame.left, y), (frame.right, y)), "grid")
        yield Words(frame.left - 6, y + FONT / 3, f"{100 * share:.0f} %", "tick", "end")


def round_steps(upto: float, most: int) -> tuple[float, ...]:
    """0 and round numbers up to a value, at most so many.

    >>> round_steps(57.4, 5)
    (0.0, 20.0, 40.0)
    """
    if upto <= 0:
        return (0.0,)
    rough = upto / most
    power = 10.0 ** floor(log10(rough))
    step = next(step for step in (power, 2 * power, 5 * power, 10 * power) if step >= rough * (1 - 1e-9))
    return tuple(step * number for number in range(ceil(upto / step) + 1) if step * number <= upto)
