"""Where the rings lie and how many pixels each holds.

     ‖ pole            a = arc from the pole along the surface
   . - ring k          θ = a / R            polar angle
 /   θ|                r = R · sin θ        ring radius
|     + R              C = 2π · r           circumference
 \\    |                n = ⌊C / pitch⌋      pixels; the rest is the seam gap
   ' - '
"""

from __future__ import annotations

import numpy as np

from buildlog.core.plan.geometry.formula import by_formula
from buildlog.core.plan.geometry.layout import Floats, Layout
from buildlog.core.plan.geometry.measured import by_table, corrected
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedRing


def lay_rings(parameters: PlanParameters) -> Layout:
    """The rings from the formula, from a measured table, or from the formula with single rings measured.

    Raises Refused when no such ball is possible.
    """
    if parameters.measured is None:
        return by_formula(parameters)
    if parameters.ring_spacing_m is None and parameters.rings_count is None:
        return by_table(parameters, sorted(parameters.measured, key=lambda row: row.ring))
    return corrected(by_formula(parameters), parameters.measured)


def edge_strain(polar: Floats, radius_m: float, strap_width_m: float) -> Floats:
    """Share of its length by which a straight strap's edges shorten and stretch on a ring: w / (2·R·tan θ).

    The ring's developed cone has the radius R·tan θ; a strap's edge lies w/2 inside or outside it.
    (Geodesic curvature of parallels: M. do Carmo, Differential Geometry of Curves and Surfaces, section 4-4.)
    """
    return np.abs(strap_width_m * np.cos(polar) / (2 * radius_m * np.sin(polar)))


def closing_flags(parameters: PlanParameters, count: int) -> list[bool]:
    """Which whole rings close the way in; a door closes only pieces of rings."""
    flags = [False] * count
    for row in parameters.measured or ():
        if row.closing:
            flags[row.ring - 1] = True
    if parameters.closing_rings and not parameters.closing_bays:
        for number in range(parameters.closing_rings[0], min(parameters.closing_rings[1], count) + 1):
            flags[number - 1] = True
    return flags


def seam_angles(parameters: PlanParameters, count: int) -> Floats:
    """Azimuth of each ring's seam [deg]: on the seam rib, moved on by the stagger from ring to ring."""
    if parameters.ribs is None:
        return np.zeros(count)
    bays = (parameters.seam_rib - 1 + np.arange(count) * parameters.seam_stagger) % parameters.ribs
    return np.asarray(bays * (360.0 / parameters.ribs), dtype=np.float64)


def to_rings(layout: Layout, parameters: PlanParameters) -> tuple[PlannedRing, ...]:
    """The layout as rings, in order from the top."""
    columns = (
        np.degrees(layout.polar),
        layout.radius_m * (1 + np.cos(layout.polar)),
        layout.radius_m * np.sin(layout.polar),
        layout.circumference_m,
        layout.pixels,
        layout.seam_gap_m,
        edge_strain(layout.polar, layout.radius_m, parameters.strap_width_m),
    )
    flags, count = closing_flags(parameters, layout.polar.size), layout.polar.size
    ends = (flags, seam_angles(parameters, count).tolist(), layout.shift_m.tolist())
    rows = zip(*(column.tolist() for column in columns), *ends, strict=True)
    return tuple(PlannedRing(number, *row) for number, row in enumerate(rows, start=1))
