"""Small worlds for tests: a few segments, a few named people, a Monday in June."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput, StintInput, hours_of
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.sentences import sentence

MONDAY = datetime(2026, 6, 1, tzinfo=UTC)
NOW = hours_of(MONDAY + timedelta(hours=7))


def shifts(days: int, begin: float = 9, end: float = 17, first: int = 0) -> tuple[ShiftInput, ...]:
    """The same hours every day, counted from that Monday."""
    found = []
    for day in range(first, first + days):
        start = MONDAY + timedelta(days=day)
        found.append(ShiftInput(hours_of(start) + begin, hours_of(start) + end, start.toordinal()))
    return tuple(found)


def segments(number: int = 8, pixels: int = 100, **also) -> tuple[SegmentInput, ...]:
    """Segments in one chain."""
    return tuple(
        SegmentInput(f"R{n}-1", pixels, **{"runs": (RunInput(1, n, pixels),), "ring": n} | also)
        for n in range(1, number + 1)
    )


def helper(name: str = "Una", days: int = 30, **also) -> Helper:
    return Helper(name, **{"shifts": shifts(days), "populate_limit_h": None} | also)


def inputs(number: int = 8, crew: tuple[Helper, ...] | None = None, **also) -> ForecastInput:
    helpers = (helper("Una"), helper("Ivo")) if crew is None else crew
    return ForecastInput(**{"as_of": NOW, "segments": segments(number), "helpers": helpers} | also)


def stint(work: str, segment: str, minutes: float, pixels: int = 100, who: tuple[int, ...] = (0,), ago: float = 48):
    """One that began so many hours before now."""
    begin = NOW - ago
    return StintInput(work, who, begin, begin + minutes / 60, pixels, segment)


def finished(of: ForecastInput) -> ForecastInput:
    return replace(of, segments=tuple(replace(segment, done=(segment.pixels,) * 4) for segment in of.segments))


def words(fact: Fact) -> str:
    """The sentence of a fact as it is written in the core."""
    return str(sentence(fact))
