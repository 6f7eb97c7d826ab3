"""The rates' posterior against certified regression data, a general mixed-model library, and published pooling.

Beliefs are made so wide, or so exactly those of an example, that the answer must be the published one. The columns of
our model (mean, practice, size, hours worked) are taken for whatever regressors an example has.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas
import pytest
import statsmodels.api as sm
from scipy.stats import beta

from buildlog.core.forecast.learn.attendance import rate_of
from buildlog.core.forecast.learn.observations import Effort
from buildlog.core.forecast.learn.rates import FIXED, EffortArrays, Posterior, Prior, learn, observe

NIST = Path(__file__).parents[1] / "data" / "nist"
NEAR = np.array([0.9, 0.98, 1.0, 1.02, 1.1])  # a grid about the published spreads
WIDE = Prior(
    mean=0.0, spread=1e5, curve_mean=0.0, curve_sd=1e5, growth_sd=1e5, fatigue_mean=0.0, fatigue_sd=1e5,
    sigma_scale=1e9, tau_scale=1e9, omega_scale=1e9, omegas=(0.0,), small_units=0.0, robust=False,
)  # fmt: skip


def certified(name: str, first: int, last: int) -> np.ndarray:
    """The data lines of a file of the NIST Statistical Reference Datasets."""
    lines = (NIST / f"{name}.dat").read_text().splitlines()
    return np.array([[float(word) for word in line.split()] for line in lines[first - 1 : last]])


def observations(y: np.ndarray, columns: np.ndarray, group: np.ndarray | None = None) -> EffortArrays:
    """Spells with regressors in the columns that all helpers share, and who did each."""
    helpers = 0 if group is None else int(group.max()) + 1
    design = np.zeros((len(y), FIXED + helpers))
    design[:, : columns.shape[1]] = columns
    if group is not None:
        design[np.arange(len(y)), FIXED + group] = 1.0
    return EffortArrays(y, np.ones(len(y)), design, np.arange(len(y)))


def likeliest(seen: Posterior) -> np.ndarray:
    """The grid point (σ, τ, ω) with the highest posterior."""
    return seen.spreads[seen.chance.argmax()]


# ---- certified data -------------------------------------------------------------------------


def test_a_straight_line():
    """NIST/ITL Statistical Reference Datasets, Norris: slope, intercept, their deviations and the residual's."""
    y, x = certified("Norris", 61, 96).T
    residual = 0.884796396144373
    prior = replace(WIDE, sigmas=tuple(residual * NEAR))
    data = observations(y, np.stack([np.ones_like(x), x], axis=1))
    assert likeliest(learn(data, 0, prior))[0] == pytest.approx(residual)
    known = learn(data, 0, replace(prior, sigmas=(residual,)))
    assert known.mean[:2] == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-7)
    assert known.sd[:2] == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-7)


@dataclass(frozen=True)
class OneWay:
    """A one-way analysis of variance: groups × replicates, mean squares between and within."""

    y: np.ndarray
    between: float
    within: float

    @property
    def spreads(self) -> tuple[float, float]:
        """σ and τ of restricted maximum likelihood in a balanced table: MSW, and (MSB − MSW) ÷ replicates."""
        return math.sqrt(self.within), math.sqrt((self.between - self.within) / self.y.shape[1])

    @property
    def shrunk(self) -> np.ndarray:
        """Best linear unbiased predictions of the groups' means."""
        return self.y.mean() + (1 - self.within / self.between) * (self.y.mean(axis=1) - self.y.mean())

    def learned(self, sigmas, taus) -> Posterior:
        group = np.repeat(np.arange(len(self.y)), self.y.shape[1])
        data = observations(self.y.ravel(), np.ones((self.y.size, 1)), group)
        return learn(data, len(self.y), replace(WIDE, sigmas=tuple(sigmas), taus=tuple(taus)))


DYESTUFF = OneWay(
    np.array([
        [1545, 1440, 1440, 1520, 1580], [1540, 1555, 1490, 1560, 1495], [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545], [1595, 1630, 1515, 1635, 1625], [1520, 1455, 1450, 1480, 1445],
    ], dtype=float), 11271.5, 2451.25,
)  # fmt: skip


def tables() -> dict[str, OneWay]:
    instruments, steps = certified("SiRstv", 61, 85)[:, 1], certified("SmLs01", 61, 249)[:, 1]
    return {
        "SiRstv": OneWay(instruments.reshape(5, 5), 1.27865654e-2, 1.0831828e-2),
        "SmLs01": OneWay(steps.reshape(9, 21), 1.68 / 8, 0.01),
        "Dyestuff": DYESTUFF,
    }


@pytest.mark.parametrize("name", ["SiRstv", "SmLs01", "Dyestuff"])
def test_spread_within_and_between_groups(name):
    """Mean squares certified for SiRstv and SmLs01 (NIST/ITL Statistical Reference Datasets; Simon and Lesage 1989);
    Dyestuff: O. L. Davies and P. L. Goldsmith, Statistical Methods in Research and Production, 1972, §6.4."""
    table = tables()[name]
    sigma, tau = table.spreads
    assert likeliest(table.learned(sigma * NEAR, tau * NEAR))[:2] == pytest.approx([sigma, tau])
    at_them = table.learned([sigma], [tau])
    assert at_them.mean[0] + at_them.mean[FIXED:] == pytest.approx(table.shrunk, rel=1e-7)


def test_batches_of_dyestuff():
    """As published with lme4's Dyestuff (Box and Tiao 1973): 49.51 within, 42.00 between; shrunk means recomputed."""
    sigma, tau = DYESTUFF.spreads
    assert (round(sigma, 2), round(tau, 2)) == (49.51, 42.00)
    seen = DYESTUFF.learned([sigma], [tau])
    shrunk = [1509.8931, 1527.8913, 1556.0622, 1504.4155, 1584.2332, 1482.5047]
    assert seen.mean[0] == pytest.approx(1527.5)
    assert seen.mean[0] + seen.mean[FIXED:] == pytest.approx(shrunk, abs=1e-3)


# ---- a general mixed-model library ------------------------------------------------------------


def invented(seed: int, days: bool) -> tuple[Effort, ...]:
    """Spells of six helpers over eight days who differ, learn, tire, and have good and bad days."""
    rng = np.random.default_rng(seed)
    found = []
    for helper in range(6):
        own, practice = rng.normal(0, 0.25), 0.0
        for day in range(8):
            form = rng.normal(0, 0.15) if days else 0.0
            worked = 0.0
            for _ in range(int(rng.integers(2, 6))):
                size = rng.normal(0, 0.4)
                log = -5.5 + own + form - 0.12 * math.log1p(practice / 100) + 0.2 * size + 0.03 * worked
                hours = 80 * math.exp(log + rng.normal(0, 0.2))
                start = 24.0 * day + worked
                found.append(
                    Effort(0, (helper,), day, 80.0, hours, (practice,), size, worked, None, f"P{len(found)}", start)
                )
                practice, worked = practice + 80, worked + hours
    return tuple(found)


def by_library(efforts: tuple[Effort, ...], data: EffortArrays, days: bool):
    """statsmodels MixedLM: an intercept a helper, and one a helper's day; restricted maximum likelihood."""
    names = ["one", "practice", "size", "worked"]
    table = pandas.DataFrame(data.design[:, :FIXED], columns=names).assign(
        y=data.log_effort, helper=[e.helpers[0] for e in efforts], day=[e.day for e in efforts]
    )
    parts = {"day": "0 + C(day)"} if days else None
    model = sm.MixedLM.from_formula(
        "y ~ 0 + " + " + ".join(names), table, groups="helper", re_formula="1", vc_formula=parts
    )
    return model.fit(reml=True, method=["bfgs"], gtol=1e-9)


@pytest.mark.parametrize(("seed", "days"), [(1, False), (2, False), (4, True)])
def test_posterior_of_rates_is_that_of_a_mixed_model(seed, days):
    """statsmodels MixedLM, as a second opinion: with wide beliefs, fixed effects, helpers and spreads are the same (to
    0.2 % of a deviation, as far as the library's search goes). Its deviations come from the curvature at the optimum,
    spreads included, which is near (5 %); those of its GLS, the spreads given, are the same."""
    efforts = invented(seed, days)
    data, usable = observe(efforts, 6, WIDE)
    assert usable == efforts
    said = by_library(efforts, data, days)
    sigma, tau = math.sqrt(said.scale), math.sqrt(float(said.cov_re.iloc[0, 0]))
    omega = math.sqrt(float(said.vcomp[0])) if days else 0.0
    about = replace(
        WIDE, sigmas=tuple(sigma * NEAR), taus=tuple(tau * NEAR), omegas=tuple(omega * NEAR) if days else (0.0,)
    )
    assert likeliest(learn(data, 6, about)) == pytest.approx([sigma, tau, omega])
    seen = learn(data, 6, replace(WIDE, sigmas=(sigma,), taus=(tau,), omegas=(omega,)))
    assert seen.sd[:FIXED] == pytest.approx(said.bse_fe.to_numpy(), rel=0.05)
    day = np.eye(data.group.max() + 1)[data.group]
    own, columns = data.design[:, FIXED:], data.design[:, :FIXED]
    spread = sigma**2 * np.eye(data.count) + tau**2 * own @ own.T + omega**2 * day @ day.T
    least_squares = sm.GLS(data.log_effort, columns, sigma=spread).fit()
    assert seen.sd[:FIXED] == pytest.approx(np.sqrt(np.diag(least_squares.normalized_cov_params)), rel=1e-6)
    assert np.abs(seen.mean[:FIXED] - said.fe_params.to_numpy()).max() < 2e-3 * seen.sd[:FIXED].min()
    helpers = [float(said.random_effects[helper].iloc[0]) for helper in range(6)]
    assert np.abs(seen.mean[FIXED:] - helpers).max() < 2e-3 * seen.sd[FIXED:].min()


def test_a_stint_counts_by_its_size_as_in_weighted_least_squares():
    """statsmodels GLS, as a second opinion: a variance of σ²·(1 + m/n) for n units."""
    rng = np.random.default_rng(4)
    columns = np.stack([np.ones(40), rng.uniform(0, 3, 40), rng.normal(0, 1, 40), rng.uniform(0, 4, 40)], axis=1)
    units = rng.integers(1, 100, 40).astype(float)
    variance = 0.3**2 * (1 + 10 / units)
    y = columns @ [-5, -0.1, 0.2, 0.02] + rng.normal(0, np.sqrt(variance))
    said = sm.GLS(y, columns, sigma=variance).fit()
    seen = learn(EffortArrays(y, units, columns, np.arange(40)), 0, replace(WIDE, sigmas=(0.3,), small_units=10.0))
    assert seen.mean == pytest.approx(said.params, rel=1e-7)
    assert seen.sd == pytest.approx(np.sqrt(np.diag(said.normalized_cov_params)), rel=1e-7)


# ---- published partial pooling ----------------------------------------------------------------

AT_BAT, HITS = 45, np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7])
SEASON = np.array([
    0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.285,
    0.316, 0.200,
])  # fmt: skip


def pooled(y: np.ndarray, sigma: float, tau: float) -> Posterior:
    """One observation each, of known spreads within and between."""
    data = observations(y, np.ones((len(y), 1)), np.arange(len(y)))
    return learn(data, len(y), replace(WIDE, sigmas=(sigma,), taus=(tau,)))


def test_eighteen_batters():
    """B. Efron and C. Morris, Stein's paradox in statistics, Scientific American 236(5), 1977: mean 0.265, shrinking
    factor 0.212; the estimates and the gain of 3.5 in squared error recomputed (gain as published from memory)."""
    average = HITS / AT_BAT
    mean = average.mean()
    sigma = math.sqrt(mean * (1 - mean) / AT_BAT)
    keep = 1 - (len(HITS) - 3) * sigma**2 / ((average - mean) ** 2).sum()
    assert (round(mean, 3), round(keep, 3)) == (0.265, 0.212)
    seen = pooled(average, sigma, sigma * math.sqrt(keep / (1 - keep)))
    ours = seen.mean[0] + seen.mean[FIXED:]
    said = [0.2939, 0.2892, 0.2845, 0.2798, 0.2751, 0.2751, 0.2704, 0.2657, 0.2610, 0.2610]
    assert ours == pytest.approx([*said, *[0.2563] * 5, 0.2516, 0.2469, 0.2422], abs=0.5e-4)
    gain = ((average - SEASON) ** 2).sum() / ((ours - SEASON) ** 2).sum()
    assert gain == pytest.approx(3.5, rel=0.02)


SCHOOLS, ERRORS = np.array([28.0, 8, -3, 7, -1, 1, 18, 12]), np.array([15.0, 10, 16, 11, 9, 11, 10, 18])


@dataclass(frozen=True)
class HalfCauchy(Prior):
    """The belief of the reference draws about the spread between schools: half-Cauchy, scale 5."""

    def log_weight(self, points: np.ndarray) -> np.ndarray:
        return -np.log1p((points[:, 1] / 5.0) ** 2)


def schools(prior: Prior) -> Posterior:
    """Known errors by way of stint sizes: with σ = m = 1, a spell of n units has a variance of 1 + 1/n."""
    data = observations(SCHOOLS, np.ones((8, 1)), np.arange(8))
    return learn(replace(data, units=1 / (ERRORS**2 - 1)), 8, prior)


def test_eight_schools_pooled_completely():
    """D. B. Rubin 1981, in A. Gelman et al., Bayesian Data Analysis, 3rd ed., §5.5: 7.7, error 4.1 (from memory)."""
    seen = schools(replace(WIDE, sigmas=(1.0,), taus=(1e-6,), small_units=1.0))
    assert (round(seen.mean[0], 1), round(seen.sd[0], 1)) == (7.7, 4.1)
    assert (seen.mean[0], seen.sd[0]) == (pytest.approx(7.686, abs=1e-3), pytest.approx(4.072, abs=1e-3))


def test_eight_schools_pooled_in_part():
    """The same schools with μ ~ N(0, 5²), τ ~ half-Cauchy(5): the reference draws of posteriordb
    (eight_schools-eight_schools_noncentered, Monte Carlo error 0.03 to 0.06), and exact quadrature (recomputed).
    Ours leaves out grid points below a thousandth of the best: so 0.06 rather than 0.001."""
    wide = replace(WIDE, spread=5.0, sigmas=(1.0,), taus=tuple(np.arange(0.05, 60, 0.1)), small_units=1.0)
    seen = schools(HalfCauchy(**vars(wide)))
    exact = [6.2119, 4.9402, 3.9270, 4.7571, 3.6155, 4.0426, 6.2967, 4.8543]
    drawn = [6.1505, 4.9396, 3.9059, 4.7960, 3.6144, 4.0511, 6.3172, 4.8840]
    ours = seen.mean[0] + seen.mean[FIXED:]
    assert ours == pytest.approx(exact, abs=0.06)
    assert ours == pytest.approx(drawn, abs=3 * 0.06)
    assert seen.mean[0] == pytest.approx(4.3968, abs=0.06)
    coefficients, _ = seen.draw(40_000, np.random.default_rng(1))
    draws = coefficients[:, :1] + coefficients[:, FIXED:]
    assert draws.mean(axis=0) == pytest.approx(ours, abs=4 * draws.std() / math.sqrt(40_000))


# ---- shares -----------------------------------------------------------------------------------


def test_the_seventy_first_group_of_rats():
    """A. Gelman et al., Bayesian Data Analysis, 3rd ed., §5.1: 4 of 14 after Beta(1.4, 8.6); moments recomputed."""
    seen = rate_of((1.4, 8.6), 4, 10)
    assert (seen.a, seen.b) == (pytest.approx(5.4), pytest.approx(18.6))
    assert seen.mean == pytest.approx(0.225, abs=1e-3)
    draws = seen.draw(100_000, np.random.default_rng(1))
    assert draws.mean() == pytest.approx(0.225, abs=4 * 0.0835 / math.sqrt(100_000))
    assert draws.std() == pytest.approx(0.0835, abs=1e-3) == pytest.approx(beta(5.4, 18.6).std(), abs=1e-4)


def test_twelve_hospitals():
    """BUGS Examples, volume 1, Surgical (data); shrunk towards the Beta that fits them best, recomputed."""
    deaths = (0, 18, 8, 46, 8, 13, 9, 31, 14, 8, 29, 24)
    operations = (47, 148, 119, 810, 211, 196, 148, 215, 207, 97, 256, 360)
    ours = [rate_of((8.2535, 99.637), r, n - r).mean for r, n in zip(deaths, operations, strict=True)]
    said = [0.0533, 0.1026, 0.0716, 0.0591, 0.0510, 0.0699, 0.0674, 0.1216, 0.0707, 0.0793, 0.1024, 0.0689]
    assert ours == pytest.approx(said, abs=1e-3)
