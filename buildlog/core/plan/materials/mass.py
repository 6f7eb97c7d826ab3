"""What the ball weighs and where its centre of mass is: as planned, and as it stands now."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from buildlog.core.plan.parts import PlannedSegment
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.leads import data_leads_m


@dataclass(frozen=True, slots=True)
class Mass:
    """Masses [kg] and the centre of mass [m]: x to azimuth 0, y to azimuth 90°, height above the lowest point."""

    pixels_kg: float
    strap_kg: float
    leads_kg: float
    frame_kg: float
    x_m: float
    y_m: float
    height_m: float

    @property
    def total_kg(self) -> float:
        return self.pixels_kg + self.strap_kg + self.leads_kg + self.frame_kg

    @property
    def aside_m(self) -> float:
        """How far the centre of mass lies beside the ball's axis: what tips or rolls a ball."""
        return math.hypot(self.x_m, self.y_m)


def mass_of(plan: BallPlan, mounted: Mapping[str, int] | None = None) -> Mass:
    """Mass as planned, or with so many pixels mounted on each segment (code → pixels; missing = none).

    A part-mounted segment counts from its lower azimuth. Lead wires count as hung on the way of their channel's
    pixels: by the share of pixels mounted, halfway between box and ball's centre height.
    """
    masses = plan.parameters.mass
    spots = list(_spots(plan, mounted))
    count = sum(pixels for pixels, *_ in spots)
    pixels_kg, strap_kg = count * masses.pixel_g / 1000, count * plan.pitch_m * masses.strap_g_m / 1000
    leads_kg = sum(data_leads_m(plan)) * masses.lead_g_m / 1000 * count / plan.totals.pixels
    radius = plan.diameter_m / 2
    middle = radius if masses.frame_height_m is None else masses.frame_height_m
    box = radius * (1 + math.cos(math.radians(plan.parameters.wiring.box_deg)))
    skin = pixels_kg + strap_kg
    parts = [
        *((skin * pixels / count, x, y, height) for pixels, x, y, height in spots),
        (leads_kg, 0.0, 0.0, (box + radius) / 2),
        (masses.frame_kg, 0.0, 0.0, middle),
    ]
    return Mass(pixels_kg, strap_kg, leads_kg, masses.frame_kg, *_centre(parts, radius))


def _spots(plan: BallPlan, mounted: Mapping[str, int] | None) -> Iterator[tuple[int, float, float, float]]:
    """(pixels, x, y, height) of what is mounted of each segment; its centre lies inside the arc."""
    for segment in plan.segments:
        pixels = segment.pixels if mounted is None else min(segment.pixels, max(0, mounted.get(segment.code, 0)))
        if pixels:
            yield (pixels, *_arc_centre(plan, segment, pixels))


def _arc_centre(plan: BallPlan, segment: PlannedSegment, pixels: int) -> tuple[float, float, float]:
    ring = plan.rings[segment.ring - 1]
    step = math.tau * plan.pitch_m / ring.circumference_m
    half = pixels * step / 2
    turn = math.radians(ring.seam_deg) + (segment.first_pixel - 1) * step + half
    # Equal pixels along an arc, as a sum of cosines: sin(n·s/2) / (n·sin(s/2)).
    inward = math.sin(half) / (pixels * math.sin(step / 2))
    return ring.radius_m * inward * math.cos(turn), ring.radius_m * inward * math.sin(turn), ring.height_m


def _centre(parts: list[tuple[float, float, float, float]], radius: float) -> tuple[float, float, float]:
    total = sum(part[0] for part in parts)
    if total == 0:
        return 0.0, 0.0, radius
    x, y, height = (sum(part[0] * part[axis] for part in parts) / total for axis in (1, 2, 3))
    return x, y, height
