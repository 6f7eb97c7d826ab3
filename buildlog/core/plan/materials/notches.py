"""Where the ribs are notched for the rings: a table for cutting the frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.plan import BallPlan
from buildlog.core.wording import _


@dataclass(frozen=True, slots=True)
class Notch:
    """One ring on one rib. ``arc_m`` is measured along the rib from the top of the full ball, at the pixels' radius."""

    rib: int
    ring: int
    azimuth_deg: float
    polar_deg: float
    height_m: float
    arc_m: float
    from_ring_above_m: float  # along the rib; for ring 1 from the top
    seam: bool  # whether the ring closes on this rib


def notches(plan: BallPlan) -> tuple[Notch, ...]:
    """All notches, rib by rib, from the top. Raises Refused when the plan has no ribs."""
    ribs = plan.parameters.ribs
    if ribs is None:
        raise Refused(Problem(_("Notches are cut into ribs: give the number of ribs."), "ribs"))
    radius = plan.diameter_m / 2
    arcs = [radius * math.radians(ring.polar_deg) for ring in plan.rings]
    steps = [after - before for before, after in zip([0.0, *arcs], arcs, strict=False)]
    return tuple(
        Notch(
            rib + 1,
            ring.number,
            rib * 360.0 / ribs,
            ring.polar_deg,
            ring.height_m,
            arc,
            step,
            abs(ring.seam_deg - rib * 360.0 / ribs) < 1e-6,
        )
        for rib in range(ribs)
        for ring, arc, step in zip(plan.rings, arcs, steps, strict=True)
    )
