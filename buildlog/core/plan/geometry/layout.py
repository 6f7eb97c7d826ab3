"""The rings as arrays, before they become rings of a plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.warning import PlanWarning
from buildlog.core.wording import _

T = TypeVar("T")
Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MOST_PIXELS = 5_000_000  # a hundred times the largest ball a crew hangs by hand
HAIR = 1e-9  # a ring that is whole but for rounding in the last place counts as whole


@dataclass(frozen=True, slots=True)
class Layout:
    """The rings as arrays, top first: polar angle [rad], pixels, shift along the surface [m]."""

    radius_m: float
    pitch_m: float
    spacing_m: float
    polar: Floats
    pixels: Ints
    shift_m: Floats
    remarks: tuple[PlanWarning, ...] = ()

    @property
    def circumference_m(self) -> Floats:
        return 2 * math.pi * self.radius_m * np.sin(self.polar)

    @property
    def seam_gap_m(self) -> Floats:
        gap = self.circumference_m - self.pixels * self.pitch_m
        return np.where(np.abs(gap) < HAIR, 0.0, gap)

    @property
    def zone_area_pixels(self) -> float:
        """Area of the zone that the rings cover, half a spacing beyond the first and last, over pitch × spacing.

        Archimedes: a zone of height h on a sphere has the area 2π·R·h.
        """
        half = self.spacing_m / (2 * self.radius_m)
        top, bottom = max(0.0, self.polar[0] - half), min(math.pi, self.polar[-1] + half)
        area = 2 * math.pi * self.radius_m**2 * (math.cos(top) - math.cos(bottom))
        return float(area / (self.pitch_m * self.spacing_m))


def needed(value: T | None) -> T:
    """The value that the parameters' own checks guarantee."""
    if value is None:
        raise Refused(Problem(_("Diameter, pitch and ring spacing or ring count are needed: give them.")))
    return value
