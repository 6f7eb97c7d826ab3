"""The whole ball as a lead looks at it, and the window on a part of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from buildlog.core.work.map_cell import MapCell, by_ring
from buildlog.core.work.stages import STAGES, Stage

RINGS_SHOWN = 8
PIECES_SHOWN = 4  # side by side: on a narrow phone each is still wider than a finger
SLIVER = 0.08  # a piece of which less than this share lies in the window is left out
STEPS = 24  # widths that a piece in the window can have


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the ball that is shown large: rings first…last, azimuths from…to."""

    first: int
    last: int
    from_deg: float
    to_deg: float

    @property
    def all_round(self) -> bool:
        return self.to_deg - self.from_deg >= 360.0


@dataclass(frozen=True, slots=True)
class Filter:
    """Which segments a lead wants to see; None leaves a question open. ``helper`` 0 is nobody."""

    stage: Stage | None = None
    helper: int | None = None
    channel: int | None = None
    first_ring: int | None = None
    last_ring: int | None = None

    def takes(self, cell: MapCell) -> bool:
        return (
            (self.stage is None or self.stage in cell.now)
            and (self.helper is None or self.helper == (cell.helper or 0))
            and (self.channel is None or self.channel in cell.channels)
            and (self.first_ring is None or cell.ring >= self.first_ring)
            and (self.last_ring is None or cell.ring <= self.last_ring)
        )


@dataclass(frozen=True, slots=True)
class Total:
    """How far the build is at one stage."""

    stage: Stage
    level: int
    count: int
    pixels: int

    @property
    def share(self) -> float:
        return self.count / self.pixels if self.pixels else 0.0

    @property
    def percent(self) -> int:
        """Rounded down, so that 100 % means all of it."""
        return self.count * 100 // self.pixels if self.pixels else 0


@dataclass(frozen=True, slots=True)
class BoardSegment:
    """A segment in the window and how wide it stands there, 1 to STEPS."""

    cell: MapCell
    wide: int


@dataclass(frozen=True, slots=True)
class WindowMove:
    """One way to move the window: its key, sign and word, and the ring and azimuth where it begins then."""

    key: str
    sign: str
    word: str
    ring: int
    azimuth_deg: float


@dataclass(frozen=True)
class Board:
    """Every segment, with ``ribs`` ribs (None without), and where the window is to begin: at a ring (None = where
    work is left, seen from the top) and an azimuth."""

    cells: tuple[MapCell, ...]
    ribs: int | None = None
    ring: int | None = None
    azimuth_deg: float = 0.0

    @cached_property
    def rings(self) -> dict[int, list[MapCell]]:
        return by_ring(self.cells)

    @cached_property
    def pixels(self) -> int:
        return sum(cell.pixels for cell in self.cells)

    @cached_property
    def totals(self) -> tuple[Total, ...]:
        counts = (sum(cell.done[place] for cell in self.cells) for place in range(len(STAGES)))
        return tuple(Total(stage, level, count, self.pixels) for level, (stage, count) in
                     enumerate(zip(STAGES, counts, strict=True), start=1))  # fmt: skip

    @property
    def faults(self) -> int:
        return sum(cell.faults for cell in self.cells)

    @property
    def before_close_in(self) -> int | None:
        """Segments still to be tested before the way in may be closed; None when nothing closes it."""
        if not any(cell.closing for cell in self.cells):
            return None
        return sum(not cell.closing and cell.done[-1] < cell.pixels for cell in self.cells)

    @property
    def chosen(self) -> int:
        """Segments that the filter leaves in."""
        return sum(not cell.dim for cell in self.cells)

    @property
    def ribs_deg(self) -> tuple[float, ...]:
        return tuple(rib * 360.0 / self.ribs for rib in range(self.ribs)) if self.ribs else ()

    @cached_property
    def window(self) -> Window:
        """Around the ring and azimuth asked for, moved inside the ball; on whole bays where there are ribs."""
        last_ring = max(self.rings)
        first = max(1, min(self.ring or self._begun_ring, last_ring - RINGS_SHOWN + 1))
        last = min(first + RINGS_SHOWN - 1, last_ring)
        most = max((len(self.rings[ring]) for ring in range(first, last + 1) if ring in self.rings), default=1)
        if most <= PIECES_SHOWN:
            return Window(first, last, 0.0, 360.0)
        step = 360.0 / (self.ribs or most)
        span = min(360.0, max(1, round(360.0 * PIECES_SHOWN / most / step)) * step)
        begin = max(0.0, min(round(self.azimuth_deg / step) * step, 360.0 - span))
        return Window(first, last, begin, begin + span)

    @property
    def _begun_ring(self) -> int:
        """A little above the first ring that is not wholly tested."""
        unfinished = (ring for ring, row in self.rings.items() if any(cell.level < len(STAGES) for cell in row))
        return max(1, next(unfinished, 1) - 2)

    @property
    def rows(self) -> Iterator[tuple[int, list[BoardSegment]]]:
        """The rings of the window, each with the pieces that lie in it from left to right."""
        window = self.window
        for ring in range(window.first, window.last + 1):
            yield ring, _row(self.rings.get(ring, []), window)

    @property
    def bays(self) -> tuple[int, int] | None:
        """First and last bay of the window, counted from 1; None without ribs."""
        if not self.ribs:
            return None
        bay = 360.0 / self.ribs
        return round(self.window.from_deg / bay) + 1, round(self.window.to_deg / bay)

    @property
    def ways(self) -> Iterator[WindowMove]:
        """Where the window can be moved from here: by half of what it shows."""
        window, half = self.window, (self.window.to_deg - self.window.from_deg) / 2
        if window.first > 1:
            yield WindowMove("up", "↑", "Rings above", max(1, window.first - RINGS_SHOWN // 2), window.from_deg)
        if window.last < max(self.rings):
            yield WindowMove("down", "↓", "Rings below", window.first + RINGS_SHOWN // 2, window.from_deg)
        if window.from_deg > 0.0:
            yield WindowMove("left", "←", "Further left", window.first, max(0.0, window.from_deg - half))
        if window.to_deg < 360.0:
            yield WindowMove("right", "→", "Further right", window.first, min(360.0 - 2 * half, window.from_deg + half))


def _row(cells: list[MapCell], window: Window) -> list[BoardSegment]:
    placed = []
    for cell in cells:
        begin, inside = max((_overlap(span, window) for span in cell.part(0, 1)), key=lambda pair: pair[1])
        if inside > SLIVER * (cell.to_deg - cell.from_deg):
            share = inside / (window.to_deg - window.from_deg)
            placed.append((begin, BoardSegment(cell, max(1, min(STEPS, round(STEPS * share))))))
    return [piece for _, piece in sorted(placed, key=lambda pair: pair[0])]


def _overlap(span: tuple[float, float], window: Window) -> tuple[float, float]:
    begin, end = max(span[0], window.from_deg), min(span[1], window.to_deg)
    return begin, max(0.0, end - begin)
