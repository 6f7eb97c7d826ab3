"""Scores of forecasts against published formulas and values that general scoring libraries agree on.

Values are recomputed; "libraries" are properscoring 0.1 and scoringrules 0.10, general-purpose scoring packages.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from buildlog.core.errors import Refused
from buildlog.core.forecast.result.track_record import brier, mean_pinball, pinball


def crps(outcome: float, quantile, breaks=()) -> float:
    """The continuous ranked probability score as twice the integral of our pinball loss over all levels."""
    parts = [0.0, *breaks, 1.0]
    segments = (quad(lambda level: pinball(outcome, quantile(level), level), a, b, epsabs=1e-12, limit=200)[0]
              for a, b in zip(parts, parts[1:], strict=False))  # fmt: skip
    return 2 * sum(segments)


@pytest.mark.parametrize(
    ("outcome", "mean", "spread", "score"),
    [
        (0, 0, 1, 0.233694977),
        (1, 0, 1, 0.602441358),
        (2, 0, 1, 1.452791822),
        (0.5, 1, 2, 0.516999626),
        (16, 15, 1.7638, 0.632505181),
    ],
)
def test_pinball_over_all_levels_is_the_crps_of_a_normal(outcome, mean, spread, score):
    """Gneiting and Raftery 2007, section 4.2, and the identity with pinball loss; value at (0, 0, 1) (√2 − 1)/√π."""
    at = float(norm.cdf(outcome, mean, spread))  # the loss has its kink there
    assert crps(outcome, lambda level: float(norm.ppf(level, mean, spread)), (at,)) == pytest.approx(score, abs=1e-8)
    z = (outcome - mean) / spread
    formula = spread * (z * (2 * norm.cdf(z) - 1) + 2 * norm.pdf(z) - 1 / np.sqrt(np.pi))
    assert formula == pytest.approx(score, abs=1e-9)


def test_pinball_over_all_levels_is_the_crps_of_an_ensemble():
    """Mean |x − y| − ½ mean |x − x'| for 1, 2, 3, 4, 7 and outcome 4.5 is 0.98 (both libraries)."""
    members = np.array([1.0, 2.0, 3.0, 4.0, 7.0])
    levels = [0.2, 0.4, 0.6, 0.8]
    steps = crps(4.5, lambda level: float(members[min(4, int(level * 5))]), levels)
    assert steps == pytest.approx(0.98, abs=1e-12)
    assert np.abs(members - 4.5).mean() - np.abs(members[:, None] - members).mean() / 2 == pytest.approx(0.98)


@pytest.mark.parametrize(
    ("outcome", "quantile", "level", "loss"),
    [(10, 8, 0.9, 1.8), (10, 12, 0.9, 0.2), (10, 8, 0.5, 1.0), (10, 8, 0.1, 0.2)],
)
def test_pinball_loss(outcome, quantile, level, loss):
    """Koenker and Bassett 1978; values as the libraries give them."""
    assert pinball(outcome, quantile, level) == pytest.approx(loss, abs=1e-12)


def test_mean_pinball_loss_is_the_mean_over_the_levels():
    assert mean_pinball(10, {0.1: 8, 0.5: 8, 0.9: 12}) == pytest.approx((0.2 + 1.0 + 0.2) / 3)


def test_chance_of_something_that_happened():
    """G. W. Brier 1950."""
    assert brier(0.7, True) == pytest.approx(0.09, abs=1e-9)
    assert brier(0.7, False) == pytest.approx(0.49)


@pytest.mark.parametrize(
    "nonsense",
    [
        lambda: pinball(1, 2, 1.5),
        lambda: mean_pinball(1, {}),
        lambda: brier(-0.1, True),
        lambda: brier(float("nan"), True),
    ],
)
def test_nonsense_is_refused(nonsense):
    with pytest.raises(Refused):
        nonsense()
