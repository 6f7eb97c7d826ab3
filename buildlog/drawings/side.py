"""The ball as one sees it standing in front of it: orthographic, from a little above.

Seen from azimuth ``turn_deg`` and ``TILT_DEG`` above level (J. P. Snyder, Map Projections – A Working Manual, 1987,
section 20). A ring is an ellipse of which the near part is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import acos, ceil, cos, degrees, radians, sin, tan
from typing import Protocol

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.map_cell import MapCell
from buildlog.drawings.svg import Markup, element, join, number

TILT_DEG = 12.0
RADIUS = 400.0


class RingSeen(Protocol):
    """What this drawing needs to know of a ring."""

    @property
    def number(self) -> int: ...
    @property
    def polar_deg(self) -> float: ...
    @property
    def closing(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class Belt:
    """A ring as this drawing needs it. Raises Refused when the polar angle is not between the poles."""

    number: int
    polar_deg: float
    closing: bool = False

    def __post_init__(self) -> None:
        if not 0.0 < self.polar_deg < 180.0:
            raise Refused(
                Problem(
                    _("Ring {number}: polar angle {polar_deg}; it lies between 0 and 180 degrees."),
                    number=self.number,
                    polar_deg=self.polar_deg,
                )
            )


@dataclass(frozen=True, slots=True)
class Sight:
    """Where one stands: the azimuth that faces the viewer."""

    turn_deg: float = 0.0

    def point(self, polar_deg: float, azimuth_deg: float) -> tuple[float, float]:
        """Drawing coordinates, the ball's middle at 0, y downwards."""
        polar, around, tilt = radians(polar_deg), radians(azimuth_deg - self.turn_deg), radians(TILT_DEG)
        x = sin(polar) * sin(around)
        y = cos(polar) * cos(tilt) - sin(polar) * cos(around) * sin(tilt)
        return RADIUS * x, -RADIUS * y

    @staticmethod
    def reach_deg(polar_deg: float) -> float:
        """How far to each side of the middle a ring can be seen: 0 (hidden) to 180 (all round)."""
        bound = -tan(radians(TILT_DEG)) / tan(radians(polar_deg)) if polar_deg != 90.0 else 0.0
        return degrees(acos(max(-1.0, min(1.0, bound))))

    def seen(self, polar_deg: float, from_deg: float, to_deg: float) -> Iterator[tuple[float, float]]:
        """The parts of a stretch of ring that face the viewer."""
        reach = self.reach_deg(polar_deg)
        for turns in (-1, 0, 1):
            middle = self.turn_deg + 360.0 * (turns + round((from_deg - self.turn_deg) / 360.0))
            begin, end = max(from_deg, middle - reach), min(to_deg, middle + reach)
            if end - begin > 0.01:
                yield begin, end

    def arc(self, polar_deg: float, from_deg: float, to_deg: float) -> str:
        """Path of a stretch of ring, near parts only, as elliptical arcs."""
        wide = RADIUS * sin(radians(polar_deg))
        return "".join(
            _arcs(self, polar_deg, begin, end, wide) for begin, end in self.seen(polar_deg, from_deg, to_deg)
        )


def _arcs(sight: Sight, polar_deg: float, begin: float, end: float, wide: float) -> str:
    """At most a third of a turn at a time: an arc command of half a turn or more is ambiguous."""
    parts = max(1, ceil((end - begin) / 120.0))
    stops = [begin + (end - begin) * part / parts for part in range(parts + 1)]
    x, y = sight.point(polar_deg, stops[0])
    path = f"M{x:.1f} {y:.1f}"
    radii = f"{number(wide)} {number(wide * sin(radians(TILT_DEG)))}"
    for stop in stops[1:]:
        x, y = sight.point(polar_deg, stop)
        path += f"A{radii} 0 0 0 {x:.1f} {y:.1f}"
    return path


def from_the_side(
    belts: Sequence[RingSeen], cells: Sequence[MapCell] = (), ribs_deg: Sequence[float] = (), turn_deg: float = 0.0
) -> Markup:
    """The ball standing in front of one: each ring a line, ribs as meridians, segments by how far they have come."""
    sight = Sight(turn_deg)
    return _frame(
        join(_rings(sight, belts, "side-rings quiet" if cells else "side-rings")),
        element("path", class_="side-ribs", d="".join(_rib(sight, azimuth) for azimuth in ribs_deg), stroke_width=1.6),
        join(_segments(sight, {belt.number: belt for belt in belts}, cells, _pitch(belts) * 0.62)),
        says=f"The ball from the side, {len(belts)} rings",
    )


def locator(belts: Sequence[RingSeen], cell: MapCell) -> Markup:
    """The ball turned so that one segment faces the viewer, that segment lit."""
    sight = Sight((cell.from_deg + cell.to_deg) / 2)
    belt = next(belt for belt in belts if belt.number == cell.ring)
    few = belts[:: max(1, len(belts) // 16)]
    mark = sight.arc(belt.polar_deg, cell.from_deg, cell.to_deg)
    x, y = sight.point(belt.polar_deg, sight.turn_deg)
    return _frame(
        join(_rings(sight, few, "side-rings")),
        element("path", class_="here-glow", d=mark, stroke_width=64),
        element("path", class_="here", d=mark, stroke_width=26),
        element("path", class_="here-tip", d=f"M{x:.0f} {y - 22:.0f}l-34 -58h68z"),
        says=f"{cell.code} is on ring {cell.ring} of {len(belts)}",
    )


def _frame(*inside: Markup, says: str) -> Markup:
    edge = RADIUS + 30
    body = element("circle", class_="side-body", r=RADIUS)
    return element(
        "svg", body, *inside, class_="side", viewBox=f"{-edge:.0f} {-edge:.0f} {2 * edge:.0f} {2 * edge:.0f}",
        role="img", aria_label=says,
    )  # fmt: skip


def _pitch(belts: Sequence[RingSeen]) -> float:
    """Distance between neighbouring rings in the middle of the drawing."""
    if len(belts) < 2:
        return 20.0
    return RADIUS * radians(belts[-1].polar_deg - belts[0].polar_deg) / (len(belts) - 1)


def _rings(sight: Sight, belts: Sequence[RingSeen], name: str) -> Iterator[Markup]:
    thin = min(6.0, max(0.8, _pitch(belts) * 0.35))
    for closing in (False, True):
        lines = "".join(
            sight.arc(belt.polar_deg, sight.turn_deg - 180.0, sight.turn_deg + 180.0)
            for belt in belts
            if belt.closing is closing
        )
        if lines:
            yield element("path", class_=f"{name} closing" if closing else name, d=lines, stroke_width=thin)


def _segments(sight: Sight, belts: dict[int, RingSeen], cells: Sequence[MapCell], thick: float) -> Iterator[Markup]:
    """One path a level: a ball of ten thousand segments stays five elements."""
    lines: dict[int, str] = {}
    for cell in cells:
        wide = cell.to_deg - cell.from_deg
        for level, begin, end in cell.stretches():
            arc = sight.arc(belts[cell.ring].polar_deg, cell.from_deg + begin * wide, cell.from_deg + end * wide)
            lines[level] = lines.get(level, "") + arc
    for level in sorted(lines):
        yield element("path", class_=f"side-seg t{level}", d=lines[level], stroke_width=thick)


def _rib(sight: Sight, azimuth_deg: float) -> str:
    """The near part of a meridian, as short straight lines."""
    path, drawing = "", False
    for polar in range(4, 180, 4):
        away = (azimuth_deg - sight.turn_deg + 180.0) % 360.0 - 180.0
        near = abs(away) <= sight.reach_deg(polar)
        if near:
            x, y = sight.point(polar, azimuth_deg)
            path += f"{'L' if drawing else 'M'}{x:.0f} {y:.0f}"
        drawing = near
    return path
