"""Rates: the design of the spells, and a posterior that a dense Gaussian, written down here, gives too.

Other programs are asked in tests/published/test_pooling.py.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from buildlog.core.forecast.learn import rates
from buildlog.core.forecast.learn.observations import Effort
from buildlog.core.forecast.learn.rates import FIXED, EffortArrays, Prior, learn, observe


def effort(units: float = 50.0, hours: float = 0.5, helpers=(0,), day: int = 1, **also) -> Effort:
    facts = {"stage": 0, "practice": (0.0,) * len(helpers), "size": 0.0, "worked": 0.0, "clipped": None}
    return Effort(helpers=helpers, day=day, units=units, hours=hours, segment="R1-1", start=0.0, **facts | also)


def test_the_design_is_level_practice_size_day_and_who():
    alone = effort(practice=(100.0,), size=0.3, worked=2.0)
    both = effort(helpers=(0, 1), practice=(300.0, 0.0), day=2, clipped=0.25)
    arrays, usable = observe([alone, both], 2, Prior(0.0))
    assert arrays.design[0] == pytest.approx([1, math.log(2), 0.3, 2, 1, 0])
    assert arrays.design[1] == pytest.approx([1, math.log(4) / 2, 0, 0, 0.5, 0.5])
    assert arrays.log_effort == pytest.approx([math.log(0.01), math.log(0.005)])
    assert arrays.count == 2 and arrays.units.tolist() == [50, 50] and usable == (alone, both)


def test_spells_that_took_no_time_or_did_nothing_are_left_out():
    usable = observe([effort(units=0.0), effort(hours=0.0), effort(clipped=0.0), effort(units=0.5)], 1, Prior(0.0))[1]
    assert [each.units for each in usable] == [0.5]


def test_a_day_is_one_of_the_same_hands():
    spells = [effort(), effort(), effort(day=2), effort(helpers=(1,)), effort(helpers=(0, 1))]
    assert observe(spells, 2, Prior(0.0))[0].group.tolist() == [0, 0, 1, 2, 3]


def spells(number: int = 18, seed: int = 4) -> list[Effort]:
    """Three helpers in turn, six spells a day, each a little after the other."""
    rng = np.random.default_rng(seed)
    return [
        effort(units=float(rng.integers(20, 90)), hours=float(rng.uniform(0.1, 0.4)), helpers=(each % 3,),
               day=each // 6, practice=(float(40 * each),), worked=float(each % 4), size=float(rng.normal(0, 0.2)))
        for each in range(number)
    ]  # fmt: skip


def one_point(sigma: float, tau: float, omega: float) -> Prior:
    return Prior(math.log(1 / 400), sigmas=(sigma,), taus=(tau,), omegas=(omega,), robust=False)


def dense(arrays: EffortArrays, prior: Prior, sigma: float, tau: float, omega: float):
    """Mean, covariance and log evidence of y = X·b + day + noise, inverted as it stands: b ~ N(centre, believed),
    day ~ N(0, ω²), noise ~ N(0, σ²·(1 + m/n))."""
    same_day = arrays.group[:, None] == arrays.group[None, :]
    noise = np.diag(sigma**2 * (1 + prior.small_units / arrays.units)) + omega**2 * same_day
    believed = np.diag(np.concatenate([prior.sureness, np.full(3, tau**-2.0)]))
    centre = np.concatenate([prior.centre, np.zeros(3)])
    weight = arrays.design.T @ np.linalg.inv(noise)
    covariance = np.linalg.inv(believed + weight @ arrays.design)
    mean = covariance @ (believed @ centre + weight @ arrays.log_effort)
    whole = arrays.design @ np.linalg.inv(believed) @ arrays.design.T + noise
    return mean, covariance, multivariate_normal(arrays.design @ centre, whole).logpdf(arrays.log_effort)


def test_with_one_spread_the_posterior_is_that_of_a_dense_gaussian():
    prior = one_point(0.3, 0.2, 0.1)
    arrays, _ = observe(spells(), 3, prior)
    mean, covariance, _ = dense(arrays, prior, 0.3, 0.2, 0.1)
    posterior = learn(arrays, 3, prior)
    assert posterior.mean == pytest.approx(mean, abs=1e-8)
    assert posterior.sd == pytest.approx(np.sqrt(np.diag(covariance)), abs=1e-8)
    assert posterior.spread == pytest.approx([0.3, 0.2, 0.1])
    drawn, points = posterior.draw(20_000, np.random.default_rng(1))
    assert np.cov(drawn.T) == pytest.approx(covariance, abs=0.05 * covariance.diagonal().max())
    assert drawn.mean(axis=0) == pytest.approx(mean, abs=4 * float(posterior.sd.max()) / 20_000**0.5)
    assert points.shape == (20_000, 3) and len(mean) == FIXED + 3


def test_spreads_are_weighed_by_their_evidence_and_what_was_believed_of_them():
    """Bayes: the chance of each point of the grid is its half-normal belief times its dense evidence."""
    prior = replace(one_point(0.3, 0.2, 0.1), sigmas=(0.2, 0.5), taus=(0.05, 0.4), omegas=(0.0, 0.3))
    arrays, _ = observe(spells(), 3, prior)
    posterior = learn(arrays, 3, prior)
    scales = np.array([prior.sigma_scale, prior.tau_scale, prior.omega_scale])
    points = [(s, t, o) for s in prior.sigmas for t in prior.taus for o in prior.omegas]
    logs = [dense(arrays, prior, *point)[2] - 0.5 * ((np.array(point) / scales) ** 2).sum() for point in points]
    chance = np.exp(np.array(logs) - max(logs))
    for kept, point in zip(posterior.chance, posterior.spreads, strict=True):
        place = points.index(tuple(point))
        assert kept == pytest.approx(chance[place] / chance[chance > 1e-3].sum(), rel=1e-6)
    assert len(posterior.chance) == (chance > 1e-3).sum() > 1


def test_nothing_measured_is_what_was_believed():
    prior = Prior(math.log(1 / 400))
    posterior = learn(observe([], 2, prior)[0], 2, prior)
    assert posterior.mean == pytest.approx([*prior.centre, 0, 0])
    assert posterior.sd[:FIXED] == pytest.approx(prior.sureness**-0.5)


def test_a_wild_spell_counts_less_and_the_others_whole():
    prior = Prior(math.log(1 / 400))
    odd = [*spells(), replace(spells()[0], hours=20.0)]
    weights = learn(observe(odd, 3, prior)[0], 3, prior).weights
    assert weights[-1] < 0.3 and np.all(weights[:-1] > 0.6) and np.median(weights) == 1
    plain = learn(observe(odd, 3, prior)[0], 3, replace(prior, robust=False))
    assert plain.weights.tolist() == [1] * 19


def test_two_spells_are_too_few_to_call_one_wild():
    prior = Prior(math.log(1 / 400), sigmas=(0.3,), taus=(0.2,), omegas=(0.1,))
    few = [effort(hours=0.125), effort(hours=0.13)]
    assert learn(observe(few, 1, prior)[0], 1, prior).weights.tolist() == [1, 1]


@pytest.mark.parametrize("number", [1, 2, 7])
def test_a_spell_is_weighed_by_how_far_it_lies_from_what_a_coarse_grid_expects(number, monkeypatch):
    """One round: z = (y − X·mean) / √(σ²·(1 + m/n) + ω²) with every third point of the grid, weight (2.5/z)² above."""
    monkeypatch.setattr(rates, "ROUNDS", 1)
    prior = Prior(math.log(1 / 400))
    arrays, _ = observe([*spells(number - 1), effort(hours=30.0)], 3, prior)
    coarse = replace(prior, sigmas=prior.sigmas[::3], taus=prior.taus[::3], omegas=prior.omegas[::3], robust=False)
    start = learn(arrays, 3, coarse)
    if number < 3:  # from there on the first weights come from the median
        sigma, _, omega = start.spread
        size = np.sqrt(sigma**2 * (1 + prior.small_units / arrays.units) + omega**2)
        z = np.abs(arrays.log_effort - arrays.design @ start.mean) / size
        assert learn(arrays, 3, prior).weights == pytest.approx(np.minimum(1, (2.5 / z) ** 2))
    assert learn(arrays, 3, prior).weights[-1] < 0.9
