"""The geometry of the unrolled ball: one row a ring, as wide as it has pixels, so that area is true.

This is the sinusoidal projection (J. P. Snyder, Map Projections – A Working Manual, 1987, section 30), squeezed
sideways; squeezing keeps areas in proportion. Azimuth 0 is the left edge and 360 the right one.

        ┌──────┐
      ┌─┴──────┴─┐      each row leans as its neighbours do: a row's area is its pixels, and the edge reads as a curve
      └─┬──────┬─┘
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

WIDE = 1000
TALL = 880
LEAST_ROW = 6  # units: below this, whole units would make rows visibly uneven


@dataclass(frozen=True)
class Unrolled:
    """Rows from the top. ``rings`` are their numbers, ``pixels`` their pixels; lengths in drawing units."""

    rings: tuple[int, ...]
    pixels: tuple[int, ...]

    @cached_property
    def scale(self) -> int:
        """Whole factor that keeps a row at LEAST_ROW units or more."""
        return max(1, -(-LEAST_ROW * len(self.rings) // TALL))

    @cached_property
    def width(self) -> int:
        return WIDE * self.scale

    @cached_property
    def height(self) -> int:
        return TALL * self.scale

    @cached_property
    def row(self) -> float:
        """Height of a row, at most a tenth of the ball's."""
        return self.height / max(len(self.rings), 10)

    @cached_property
    def pitch(self) -> float:
        """Width of one pixel: the same on every row."""
        return self.width / max(self.pixels)

    @cached_property
    def place(self) -> dict[int, int]:
        return {ring: index for index, ring in enumerate(self.rings)}

    @cached_property
    def top(self) -> float:
        return (self.height - self.row * len(self.rings)) / 2

    def y(self, ring: int, share: float = 0.0) -> float:
        """Height of a point of the ring's row; share 0 is its upper edge, 1 its lower one."""
        return self.top + (self.place[ring] + share) * self.row

    def half(self, ring: int, share: float = 0.5) -> float:
        """Half the row's width at that share of its height; at 0.5 exactly half its pixels."""
        index = self.place[ring]
        before = self.pixels[max(index - 1, 0)]
        after = self.pixels[min(index + 1, len(self.pixels) - 1)]
        span = min(index + 1, len(self.pixels) - 1) - max(index - 1, 0)
        lean = (after - before) / max(span, 1)
        return max(0.0, (self.pixels[index] + (share - 0.5) * lean) * self.pitch / 2)

    def x(self, ring: int, azimuth_deg: float, share: float = 0.5) -> float:
        return self.width / 2 + (azimuth_deg / 180 - 1) * self.half(ring, share)

    def patch(self, ring: int, begin: float, end: float, over: float = 0.0, under: float = 1.0) -> str:
        """Path of a piece of the row between two azimuths and two shares of its height, in whole units."""
        left, right = round(self.x(ring, begin, over)), round(self.x(ring, end, over))
        low_left, low_right = round(self.x(ring, begin, under)), round(self.x(ring, end, under))
        top, low = round(self.y(ring, over)), round(self.y(ring, under))
        return f"M{left} {top}H{right}L{low_right} {low}H{low_left}z"

    def line(self, ring: int, begin: float, end: float, share: float = 0.5) -> str:
        """Path of a level line through the row between two azimuths."""
        return f"M{self.x(ring, begin, share):.1f} {self.y(ring, share):.1f}H{self.x(ring, end, share):.1f}"

    def meridian(self, azimuth_deg: float, rings: Sequence[int] | None = None) -> str:
        """Path of a rib: from the upper edge of the first row to the lower edge of the last.

        Of a whole ball a few dozen rows are enough for a smooth curve.
        """
        rows = rings or self.rings[:: max(1, len(self.rings) // 36)]
        rows = rows if rings or rows[-1] == self.rings[-1] else (*rows, self.rings[-1])
        points = [(self.x(ring, azimuth_deg, 0.0), self.y(ring)) for ring in rows]
        points.append((self.x(rows[-1], azimuth_deg, 1.0), self.y(rows[-1], 1.0)))
        return "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points)

    def block(self, first: int, last: int, begin: float, end: float) -> str:
        """Outline of rings first…last between two azimuths."""
        rows = [ring for ring in self.rings if first <= ring <= last]
        left = self.meridian(begin, rows)
        right = self.meridian(end, rows)
        return left + "L" + "L".join(reversed(right[1:].split("L"))) + "z"
