"""Stages taken together: the same answer as one dense Gaussian in which a helper's effects share an ability."""

import numpy as np
import pytest

from buildlog.core.forecast.learn import helpers
from buildlog.core.forecast.learn.helpers import pooled
from buildlog.core.forecast.learn.rates import FIXED, learn, observe
from tests.core.forecast.learn.test_rates import one_point, spells

ABILITY, AT_STAGE = 0.2, 0.1


def joined(number: int = 18):
    """Two stages of three helpers; the second one has seen fewer spells."""
    prior = one_point(0.3, 0.2, 0.1)
    logs = [spells(number), spells(number // 3, seed=9)]
    return [learn(observe(log, 3, prior)[0], 3, prior) for log in logs]


def dense(stages) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of all coefficients, inverted as they stand."""
    width = FIXED + 3
    believed = np.zeros((2 * width, 2 * width))
    for number, stage in enumerate(stages):
        place = slice(number * width, number * width + FIXED)
        believed[place, place] = np.diag(1 / stage.prior.sureness)
    for helper in range(3):
        for one in range(2):
            for other in range(2):
                shared = ABILITY**2 + AT_STAGE**2 * (one == other)
                believed[one * width + FIXED + helper, other * width + FIXED + helper] = shared
    precision, right = np.linalg.inv(believed), np.zeros(2 * width)
    centre = np.concatenate([np.concatenate([stage.prior.centre, np.zeros(3)]) for stage in stages])
    right += precision @ centre
    for number, stage in enumerate(stages):
        place = slice(number * width, (number + 1) * width)
        precision[place, place] += stage.sums.xx
        right[place] += stage.sums.xy
    covariance = np.linalg.inv(precision)
    return covariance @ right, covariance


def test_one_spread_gives_the_dense_posterior(monkeypatch):
    monkeypatch.setattr(helpers, "ABILITY_SPREADS", (ABILITY,))
    monkeypatch.setattr(helpers, "STAGE_SPREADS", (AT_STAGE,))
    stages = joined()
    mean, covariance = dense(stages)
    crew = pooled(stages, 3)
    assert crew.mean.ravel() == pytest.approx(mean, abs=1e-8)
    assert crew.factors[0] @ crew.factors[0].T == pytest.approx(covariance, abs=1e-10)
    drawn = crew.draw(20_000, np.random.default_rng(2))
    assert drawn.shape == (20_000, 2, FIXED + 3)
    assert np.cov(drawn.reshape(20_000, -1).T) == pytest.approx(covariance, abs=0.05 * covariance.diagonal().max())


def test_quick_hands_at_one_stage_are_believed_at_another(monkeypatch):
    """A helper who was never at the second stage is expected to be as they are at the first, by halves."""
    prior = one_point(0.3, 0.2, 0.1)
    first = learn(observe(spells(), 3, prior)[0], 3, prior)
    nothing = learn(observe([], 3, prior)[0], 3, prior)
    effects = pooled([first, nothing], 3).mean[:, FIXED:]
    assert np.sign(effects[1]) == pytest.approx(np.sign(effects[0])) and np.all(np.abs(effects[1]) < np.abs(effects[0]))


def test_the_grid_is_weighed_and_what_is_unlikely_is_dropped():
    crew = pooled(joined(), 3)
    assert crew.chance.sum() == pytest.approx(1) and np.all(crew.chance > 0) and len(crew.chance) == len(crew.spreads)
    assert crew.chance.min() >= 1e-3 * crew.chance.max()
