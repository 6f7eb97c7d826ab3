"""Spares against scipy's own distribution, and shrinkage of a failure share against a published example."""

import pytest
from scipy.stats import betabinom

from buildlog.core.plan.materials.supplies import Failures, beta_binomial, spare_pixels
from buildlog.core.plan.parameter_table import BuyingParameters


@pytest.mark.parametrize(("pixels", "alpha", "beta"), [(40, 2.0, 198.0), (500, 5.4, 18.6), (20, 1.0, 1.0)])
def test_the_beta_binomial_is_scipys(pixels: int, alpha: float, beta: float) -> None:
    assert beta_binomial(pixels, alpha, beta) == pytest.approx(betabinom.pmf(range(pixels + 1), pixels, alpha, beta))


@pytest.mark.parametrize("level", [0.5, 0.8, 0.95, 0.99])
def test_spares_are_the_quantile(level: float) -> None:
    given = BuyingParameters(service_level=level, failure_share=0.02, failure_weight=100.0)
    assert spare_pixels(3000, Failures(1000, 30), given) == betabinom.ppf(level, 3000, 32, 1068)


def test_what_was_seen_is_weighed_against_what_was_expected() -> None:
    """A. Gelman et al., Bayesian Data Analysis 3, section 5.1: Beta(1.4, 8.6) and 4 of 14 make a mean of 0.225
    (seen in a secondary source, recomputed)."""
    chances = beta_binomial(1, 1.4 + 4, 8.6 + 10)
    assert chances[1] == pytest.approx(0.225)
