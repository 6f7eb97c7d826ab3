"""What single numbers of a plan may be, and the sentence when one is outside."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from buildlog.core.errors import Problem
from buildlog.core.units import show_length


class Limit(NamedTuple):
    """What one number may be. ``option`` is the name people see; ``unit`` is "m" for lengths."""

    option: str
    what: str
    least: float
    most: float
    whole: bool = False
    unit: str = ""
    optional: bool = False

    def show(self, value: float) -> str:
        if self.unit == "m":
            return show_length(value)
        return f"{value:g}{self.unit}" if isinstance(value, float) else f"{value}{self.unit}"


def number_problem(value: Any, limit: Limit) -> Problem | None:
    """What is wrong with one number, or None."""
    if value is None and limit.optional:
        return None
    kind = "a whole number" if limit.whole else "a number"
    allowed = f"allowed: {limit.show(limit.least)} to {limit.show(limit.most)}"
    what = f"{limit.what[0].upper()}{limit.what[1:]}"
    if isinstance(value, bool) or not isinstance(value, int if limit.whole else (int, float)):
        return Problem(f"{what} must be {kind}, not {value!r}; {allowed}.", limit.option)
    if not math.isfinite(value):
        return Problem(f"{what} must be {kind}; {allowed}.", limit.option)
    if not limit.least <= value <= limit.most:
        return Problem(f"{what} is {limit.show(value)}; {allowed}.{_unit_hint(value, limit)}", limit.option)
    return None


def number_problems(given: object, limits: Mapping[str, Limit]) -> list[Problem]:
    """What is wrong with the numbers of a dataclass, field by field."""
    found = (number_problem(getattr(given, name), limit) for name, limit in limits.items())
    return [problem for problem in found if problem is not None]


def _unit_hint(value: float, limit: Limit) -> str:
    if limit.unit != "m" or value <= limit.most:
        return ""
    return f" A bare number is metres: was {value:g}mm meant?"


# A millimetre of pitch and a hundred metres of ball are far outside what a crew hangs by hand: beyond them a unit was
# forgotten, and saying so helps more than a plan of a billion pixels.
BALL = {
    "diameter_m": Limit("diameter", "the diameter", 0.05, 100.0, unit="m", optional=True),
    "pitch_m": Limit("pitch", "the pitch", 0.001, 10.0, unit="m", optional=True),
    "ring_spacing_m": Limit("ring_spacing", "the ring spacing", 0.001, 50.0, unit="m", optional=True),
    "rings_count": Limit("rings_count", "the number of rings", 1, 5_000, True, optional=True),
    "top_pixels": Limit("top_pixels", "the pixel count of the first ring", 1, 100_000, True, optional=True),
    "top_deg": Limit("top_deg", "the angle of the first ring", 0.0, 180.0, unit="°", optional=True),
    "bottom_pixels": Limit("bottom_pixels", "the pixel count of the last ring", 1, 100_000, True, optional=True),
    "bottom_deg": Limit("bottom_deg", "the angle of the last ring", 0.0, 180.0, unit="°", optional=True),
    "snap_share": Limit("snap_share", "the share of the spacing that a ring may move", 0.0, 0.45),
    "ribs": Limit("ribs", "the number of ribs", 2, 200, True, optional=True),
    "max_segment": Limit("max_segment", "the pixel count of the longest segment", 1, 100_000, True),
    "min_segment": Limit("min_segment", "the pixel count of the shortest segment", 1, 100_000, True),
    "seam_rib": Limit("seam_rib", "the rib of the seam", 1, 200, True),
    "seam_stagger": Limit("seam_stagger", "the number of bays between seams", 0, 200, True),
    "strap_width_m": Limit("strap_width", "the strap width", 0.0, 1.0, unit="m"),
    "edge_strain_limit": Limit("edge_strain_limit", "the edge strain allowed", 0.0, 1.0),
    "capacity": Limit("capacity", "the capacity of a channel, in pixels,", 1, 1_000_000, True),
    "outputs": Limit("outputs", "the number of outputs", 1, 100_000, True, optional=True),
    "spare_share": Limit("spare_share", "the share of outputs kept spare", 0.0, 0.9),
}
