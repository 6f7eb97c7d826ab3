"""Small worlds for tests: a few segments, a few named people, a Monday in June."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from buildlog.core.forecast.input import Helper, Piece, Run, Shift, Stint, World, hours_of

MONDAY = datetime(2026, 6, 1, tzinfo=UTC)
NOW = hours_of(MONDAY + timedelta(hours=7))


def shifts(days: int, begin: float = 9, end: float = 17, first: int = 0) -> tuple[Shift, ...]:
    """The same hours every day, counted from that Monday."""
    found = []
    for day in range(first, first + days):
        start = MONDAY + timedelta(days=day)
        found.append(Shift(hours_of(start) + begin, hours_of(start) + end, start.toordinal()))
    return tuple(found)


def pieces(number: int = 8, pixels: int = 100, **also) -> tuple[Piece, ...]:
    """Segments in one chain."""
    return tuple(
        Piece(f"R{n}-1", pixels, **{"runs": (Run(1, n, pixels),), "ring": n} | also) for n in range(1, number + 1)
    )


def helper(name: str = "Una", days: int = 30, **also) -> Helper:
    return Helper(name, **{"shifts": shifts(days), "populate_limit_h": None} | also)


def world(number: int = 8, crew: tuple[Helper, ...] | None = None, **also) -> World:
    helpers = (helper("Una"), helper("Ivo")) if crew is None else crew
    return World(**{"as_of": NOW, "pieces": pieces(number), "helpers": helpers} | also)


def stint(work: str, segment: str, minutes: float, pixels: int = 100, who: tuple[int, ...] = (0,), ago: float = 48):
    """One that began so many hours before now."""
    begin = NOW - ago
    return Stint(work, who, begin, begin + minutes / 60, pixels, segment)


def finished(of: World) -> World:
    return replace(of, pieces=tuple(replace(piece, done=(piece.pixels,) * 4) for piece in of.pieces))
