"""Scales and their ticks: time along an edge, shares and hours along another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from math import ceil, floor, log10
from zoneinfo import ZoneInfo

from buildlog.drawings.picture import FONT, DrawnLine, Shape, Words
from buildlog.drawings.ticks import AxisTick, Ticks, ticks

OVER = 6.0  # how far a name may reach past the plot
GAP = 10.0  # between two names


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


def time_axis(frame: Frame, begin: datetime, end: datetime, zone: ZoneInfo) -> Iterator[Shape]:
    """Time along the lower edge: a line up at each moment that is named, its name under it."""

    def named(some: Ticks) -> Ticks:
        spans = [(tick, *_words(frame, tick).span) for tick in some]
        seen = [span for span in spans if span[1] >= 0 and span[2] <= frame.right + OVER]
        apart = all(right + GAP <= left for (_, _, right), (_, left, _) in pairwise(seen))
        return tuple(tick for tick, *_ in seen) if apart else ()

    for tick in ticks(begin, end, zone, named):
        x = frame.x(days(tick.moment))
        yield DrawnLine(((x, frame.top), (x, frame.bottom + 5)), "grid")
        yield _words(frame, tick)


def _words(frame: Frame, tick: AxisTick) -> Words:
    return Words(frame.x(days(tick.moment)), frame.bottom + FONT + 4, tick.text, "tick", "middle")


def share_axis(frame: Frame, marks: tuple[float, ...] = (0.0, 0.25, 0.5, 0.75, 1.0)) -> Iterator[Shape]:
    """Shares in per cent along the left edge."""
    for share in marks:
        y = frame.y(share)
        yield DrawnLine(((frame.left, y), (frame.right, y)), "grid")
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
