"""The ball behind a table of measured rings: diameter and pitch by least squares.

A ring at height h above the lowest point of a ball of radius R has radius r with r² = 2·R·h − h². A ring that
holds n pixels of pitch p is, on average, half a pitch longer than they are, because n was rounded down:
2·π·r = (n + ½)·p. Together h² = 2·R·h − (p/2π)²·(n + ½)², which is linear in R and p².
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.wording import _


@dataclass(frozen=True, slots=True)
class Fit:
    """Diameter and pitch [m], and how far the worst ring lies off that ball [m]."""

    diameter_m: float
    pitch_m: float
    worst_m: float


def fit_ball(rows: Sequence[MeasuredRing], diameter_m: float | None = None, pitch_m: float | None = None) -> Fit:
    """Diameter and pitch from heights and counts; what is given stays as given.

    The rounding error of n enters the equation times n, so rows are weighed by 1/(n + 1).
    Raises Refused when there are fewer than three rings or no ball fits.
    """
    if len(rows) < 3:
        raise Refused(
            Problem(_("Three rings with heights are needed to find diameter and pitch: give both."), "diameter")
        )
    height = np.array([row.height_m for row in rows], dtype=float)
    reach = (np.array([row.pixels for row in rows], dtype=float) + 0.5) / math.tau
    radius, square = _solve(height, reach, diameter_m, pitch_m)
    if not (radius > 0 and square > 0 and math.isfinite(radius)):
        raise Refused(
            Problem(
                _("Heights and pixels of the table fit no ball: check height_mm, or give diameter and pitch."), "rings"
            )
        )
    off = np.abs(np.hypot(math.sqrt(square) * reach, height - radius) - radius)
    return Fit(2 * radius, math.sqrt(square), float(off.max()))


def _solve(
    height: npt.NDArray[np.float64], reach: npt.NDArray[np.float64], diameter_m: float | None, pitch_m: float | None
) -> tuple[float, float]:
    """Radius and pitch² that fit best, with what is given held fixed."""
    weight = 1.0 / (reach + 1.0 / math.tau)
    columns = {"radius": 2 * height, "square": -(reach**2)}
    fixed = {"radius": diameter_m / 2 if diameter_m else None, "square": pitch_m**2 if pitch_m else None}
    right = height**2
    free = []
    for name, value in fixed.items():
        if value is None:
            free.append(name)
        else:
            right = right - columns[name] * value
    coefficients = dict(fixed)
    if free:
        matrix = np.stack([columns[name] for name in free], axis=1) * weight[:, None]
        coefficients.update(zip(free, np.linalg.lstsq(matrix, right * weight, rcond=None)[0].tolist(), strict=True))
    return float(coefficients["radius"] or 0.0), float(coefficients["square"] or 0.0)
