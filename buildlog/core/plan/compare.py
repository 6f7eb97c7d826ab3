"""Two plans side by side: what one has more of than the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from buildlog.core.plan.materials.cutting import CutList
from buildlog.core.plan.materials.mass import mass_of
from buildlog.core.plan.materials.supplies import supplies_of
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.power import Power, power_of
from buildlog.core.work.stages import Stage

# Units of work by stage: strap is populated and mounted pixel by pixel, wired and tested run by run.
BY_PIXEL = (Stage.POPULATE, Stage.MOUNT)


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """One figure of both plans; ``unit`` is "" for counts."""

    key: str
    what: str
    unit: str
    first: float | None
    second: float | None

    @property
    def difference(self) -> float | None:
        return None if self.first is None or self.second is None else self.second - self.first


def labour_hours(plan: BallPlan, rates: Mapping[Stage, float]) -> dict[Stage, float]:
    """Person-hours by stage at these rates: pixels or runs a person-hour."""
    runs = sum(len(channel.runs) for channel in plan.channels)
    return {stage: (plan.totals.pixels if stage in BY_PIXEL else runs) / rates[stage] for stage in rates}


def figures(plan: BallPlan, rates: Mapping[Stage, float], cutting: CutList | None = None) -> dict[str, float | None]:
    """The figures of one plan that ``side_by_side`` compares; cost is None without prices, rolls without a cut list."""
    power = power_of(plan)
    return {
        **_counts(plan),
        "peak_w": power.level("peak").mains_w,
        "supplies": float(len(power.supplies)),
        "injections": float(sum(len(chain.feeds) for chain in power.chains)),
        "mass_kg": mass_of(plan).total_kg,
        "rolls": None if cutting is None else float(cutting.rolls),
        "labour_h": sum(labour_hours(plan, rates).values()),
        "cost": _cost(plan, power, cutting),
    }


def _counts(plan: BallPlan) -> dict[str, float]:
    totals = plan.totals
    return {
        "rings": float(totals.rings),
        "pixels": float(totals.pixels),
        "segments": float(totals.segments),
        "joints": float(totals.joints),
        "channels": float(totals.channels),
        "strap_m": totals.strap_m,
        "seam_gap_m": max(ring.seam_gap_m for ring in plan.rings),
    }


def _cost(plan: BallPlan, power: Power, cutting: CutList | None) -> float | None:
    return sum(item.cost for item in supplies_of(plan, power, cutting)) or None


_WORDS = {
    "rings": ("rings", ""),
    "pixels": ("pixels", ""),
    "segments": ("segments", ""),
    "joints": ("joints", ""),
    "channels": ("channels", ""),
    "strap_m": ("strap", "m"),
    "seam_gap_m": ("widest seam gap", "m"),
    "peak_w": ("power at the mains, peak", "W"),
    "supplies": ("power supplies", ""),
    "injections": ("injections", ""),
    "mass_kg": ("mass", "kg"),
    "rolls": ("rolls of strap", ""),
    "labour_h": ("labour", "person-hours"),
    "cost": ("cost of supplies", ""),
}


def side_by_side(
    first: BallPlan,
    second: BallPlan,
    rates: Mapping[Stage, float],
    cuttings: tuple[CutList | None, CutList | None] = (None, None),
) -> tuple[ComparedLine, ...]:
    """Both plans' figures in one table."""
    left, right = figures(first, rates, cuttings[0]), figures(second, rates, cuttings[1])
    return tuple(ComparedLine(key, *words, left[key], right[key]) for key, words in _WORDS.items())
