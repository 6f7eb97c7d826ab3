"""How good a forecast was, once the outcome is known. Smaller is better throughout.

T. Gneiting and A. E. Raftery, Strictly proper scoring rules, prediction, and estimation, JASA 102, 2007;
R. Koenker and G. Bassett, Regression quantiles, Econometrica 46, 1978; G. W. Brier, Monthly Weather Review 78, 1950.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from buildlog.core.errors import Problem, Refused

Quantiles = Mapping[float, float]  # {level between 0 and 1: value that is not passed at that level}


def pinball(outcome: float, quantile: float, level: float) -> float:
    """Loss of one quantile, in the unit of the outcome; twice its integral over all levels is the CRPS.

    Raises Refused for a level outside 0…1.

    >>> pinball(10, 8, 0.9), pinball(10, 12, 0.9)
    (1.8, 0.19999999999999996)
    """
    _share(level, "level")
    over = outcome - quantile
    return level * over if over >= 0 else (level - 1) * over


def mean_pinball(outcome: float, quantiles: Quantiles) -> float:
    """Mean loss over the quantiles that were said. Raises Refused when there are none."""
    if not quantiles:
        raise Refused(Problem("A forecast without quantiles cannot be scored.", "quantiles"))
    return sum(pinball(outcome, value, level) for level, value in quantiles.items()) / len(quantiles)


def interval_score(outcome: float, low: float, high: float, outside: float) -> float:
    """Width of the interval plus 2/α for every unit by which it was missed; ``outside`` is α, the share left out."""
    if high < low:
        raise Refused(Problem(f"The interval ends at {high} before it begins at {low}.", "high"))
    if not 0 < outside < 1:
        raise Refused(Problem(f"Found {outside}: the share left out lies between 0 and 1.", "outside"))
    return high - low + 2 / outside * max(low - outcome, outcome - high, 0.0)


def brier(chance: float, happened: bool) -> float:
    """Squared error of a chance."""
    _share(chance, "chance")
    return (chance - happened) ** 2


def log_score(chance: float, happened: bool) -> float:
    """Minus the log of the chance that was given to what happened; infinite when that was 0."""
    _share(chance, "chance")
    given = chance if happened else 1 - chance
    return -math.log(given) if given > 0 else math.inf


def _share(value: float, name: str) -> None:
    if not 0 <= value <= 1:
        raise Refused(Problem(f"Found {value}: a share lies between 0 and 1.", name))
