"""What to buy, with spares that are enough at a chosen chance, and when the build runs out of something."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import betaln, gammaln

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.materials.cutting import CutList
from buildlog.core.plan.parameter_table import BuyingParameters
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.leads import data_leads_m
from buildlog.core.plan.wiring.power import Power
from buildlog.core.wording import _

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Failures:
    """Pixels tested so far and how many of them had to be replaced."""

    tested: int = 0
    failed: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.failed <= self.tested:
            raise Refused(
                Problem(
                    _("{failed} of {tested} pixels failed: no more can fail than were tested."),
                    "failed",
                    failed=self.failed,
                    tested=self.tested,
                )
            )


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to buy. ``need`` is what the whole build takes, ``spares`` come on top; ``price`` is for one."""

    key: str
    what: str
    unit: str
    need: float
    spares: float
    have: float
    price: float

    @property
    def get(self) -> float:
        """Still to get."""
        return max(0.0, self.need + self.spares - self.have)

    @property
    def cost(self) -> float:
        """Of the whole need and its spares, bought already or not."""
        return (self.need + self.spares) * self.price


def failure_prior(buying: BuyingParameters) -> tuple[float, float]:
    """The Beta distribution that the expected share and its weight stand for."""
    return buying.failure_share * buying.failure_weight, (1 - buying.failure_share) * buying.failure_weight


def beta_binomial(pixels: int, alpha: float, beta: float) -> Floats:
    """Chances of 0…pixels failures among so many, when the failure share is Beta(alpha, beta)."""
    k = np.arange(pixels + 1, dtype=np.float64)
    choose = gammaln(pixels + 1) - gammaln(k + 1) - gammaln(pixels - k + 1)
    return np.asarray(np.exp(choose + betaln(k + alpha, pixels - k + beta) - betaln(alpha, beta)), dtype=np.float64)


@lru_cache(maxsize=8)  # with a million pixels left it takes half a second
def spare_pixels(pixels_left: int, seen: Failures, buying: BuyingParameters) -> int:
    """The fewest spares that last, at the service level, for the pixels not yet tested.

    What has failed so far sharpens the expectation: Beta(a + failed, b + tested - failed).
    """
    if pixels_left <= 0:
        return 0
    alpha, beta = failure_prior(buying)
    chances = beta_binomial(pixels_left, alpha + seen.failed, beta + seen.tested - seen.failed)
    return int(np.searchsorted(np.cumsum(chances), buying.service_level - 1e-12))


def supplies_of(
    plan: BallPlan,
    power: Power,
    cutting: CutList | None = None,
    *,
    have: Mapping[str, float] | None = None,
    seen: Failures | None = None,
) -> tuple[Item, ...]:
    """Everything to buy: pixels, strap, lead wire, supplies, outputs. ``have`` counts all ever got, used or not.

    Spares of pixels are those already replaced and those still expected at the service level; a supply in ten and
    the outputs' spare share come on top; a tenth of the lead wire is for mistakes.
    """
    buying, have, seen = plan.parameters.buying, have or {}, seen or Failures()
    pixels = plan.totals.pixels
    spares = seen.failed + spare_pixels(pixels - seen.tested, seen, buying)
    patches = plan.parameters.stock.patch_pixels * plan.totals.segments * plan.pitch_m
    leads = sum(data_leads_m(plan))
    outputs, share = plan.totals.channels, plan.parameters.spare_share
    rows = [
        ("pixel", "pixels", "", pixels, spares, buying.price_pixel),
        ("strap", "strap, patches included", "m", plan.totals.strap_m + patches, 0.0, 0.0),
        ("lead", "lead wire", "m", leads, 0.1 * leads, buying.price_lead_m),
        (
            "supply",
            "power supplies",
            "",
            len(power.supplies),
            math.ceil(0.1 * len(power.supplies)),
            buying.price_supply,
        ),
        ("output", "controller outputs", "", outputs, math.ceil(outputs * share / (1 - share)), buying.price_output),
    ]
    if cutting is not None:
        rows.insert(2, ("roll", "rolls of strap", "", cutting.rolls, 0.0, buying.price_roll))
        have = {"roll": float(plan.parameters.stock.rolls or 0), **have}
    return tuple(
        Item(key, what, unit, float(need), float(extra), float(have.get(key, 0.0)), price)
        for key, what, unit, need, extra, price in rows
    )


def runs_out(today: date, in_stock: float, still_needed: float, pace_a_day: float) -> date | None:
    """The day on which the stock is used up at the measured pace; None when it lasts or nothing is being used.

    >>> runs_out(date(2026, 5, 1), 1000, 4000, 300)
    datetime.date(2026, 5, 4)
    """
    if still_needed <= in_stock or pace_a_day <= 0:
        return None
    return today + timedelta(days=int(in_stock // pace_a_day))
