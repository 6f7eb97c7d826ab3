"""How fast this crew works: effort per unit of work at a stage, by helper, with practice, from the stints so far.

For the effort y of a spell i of helper h at a stage [person-hours per unit], after c units of own practice,

    log y = μ + α_h + β·log(1 + c/c0) + κ·x + φ·w + δ_hd + ε

    ε ~ N(0, σ²·(1 + m/n)),    α_h ~ N(0, τ²),    δ_hd ~ N(0, ω²)

with n the units in the spell, x the log of the whole segment's units against a usual one (a segment on two channels
need not take twice as long to wire), w the hours at work on that day before, and δ a good or a bad day of a helper.
μ has a prior around the build's standard rate, β one around the 95 % learning curve (T. P. Wright 1936; unit form
J. R. Crawford 1944). σ, τ, ω lie on a grid; given them everything is Gaussian, so the posterior is exact up to the
grid and its draws are independent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from buildlog.core.forecast.learn.observations import ODD_SIGMAS, Array, Effort

PRACTICE_UNIT = (100.0, 100.0, 4.0, 4.0)  # c0: pixels, pixels, runs, runs
SMALL_UNITS = (10.0, 10.0, 0.1, 0.1)  # m
CURVE_MEAN, CURVE_SD = math.log2(0.95), 0.05 / 0.95 / math.log(2)
GROWTH_MEAN, GROWTH_SD = (0.0, 0.0, -0.5, -0.5), (0.1, 0.1, 0.4, 0.4)  # κ
FATIGUE_MEAN, FATIGUE_SD = 0.015, 0.02  # φ, an hour
CENTRE, CURVE, GROWTH, FATIGUE, FIXED = range(5)  # columns of the design: μ, β, κ, φ, then those of the helpers
ROUNDS = 5


@dataclass(frozen=True)
class Prior:
    """What is believed before anything is measured, all on the log scale of effort."""

    mean: float
    spread: float = 0.30
    curve_mean: float = CURVE_MEAN
    curve_sd: float = CURVE_SD
    growth_mean: float = 0.0
    growth_sd: float = 0.1
    fatigue_mean: float = FATIGUE_MEAN
    fatigue_sd: float = FATIGUE_SD
    practice_unit: float = 100.0
    small_units: float = 10.0
    sigmas: tuple[float, ...] = tuple(np.geomspace(0.04, 1.2, 16))
    taus: tuple[float, ...] = (0.02, 0.06, 0.11, 0.17, 0.24, 0.32, 0.42, 0.55, 0.75)
    omegas: tuple[float, ...] = (0.0, 0.04, 0.08, 0.13, 0.2)
    sigma_scale: float = 0.4
    tau_scale: float = 0.3
    omega_scale: float = 0.1
    robust: bool = True

    @property
    def centre(self) -> Array:
        """Means of what is believed of μ, β, κ, φ."""
        return np.array([self.mean, self.curve_mean, self.growth_mean, self.fatigue_mean])

    @property
    def sureness(self) -> Array:
        """Precisions of the same."""
        return np.array([self.spread, self.curve_sd, self.growth_sd, self.fatigue_sd]) ** -2.0

    def log_weight(self, points: Array) -> Array:
        """Half-normal beliefs about the three spreads (up to a constant), for points × (σ, τ, ω)."""
        scales = (self.sigma_scale, self.tau_scale, self.omega_scale)
        return np.asarray(-0.5 * ((points / scales) ** 2).sum(axis=1))


@dataclass(frozen=True)
class EffortArrays:
    """The spells of one stage as arrays: log effort, units, design (spells × (FIXED + helpers)), day group."""

    log_effort: Array
    units: Array
    design: Array
    group: npt.NDArray[np.int64]

    @property
    def count(self) -> int:
        return len(self.log_effort)


def observe(efforts: Sequence[Effort], helpers: int, prior: Prior) -> tuple[EffortArrays, tuple[Effort, ...]]:
    """Arrays from efforts, and the efforts they stand for (those that took time and did something)."""
    usable = tuple(effort for effort in efforts if effort.units > 0 and _best(effort) > 0)
    design = np.zeros((len(usable), FIXED + helpers))
    design[:, CENTRE] = 1.0
    for row, effort in enumerate(usable):
        logs = [math.log1p(before / prior.practice_unit) for before in effort.practice]
        design[row, CURVE] = sum(logs) / len(logs)
        design[row, GROWTH] = effort.size
        design[row, FATIGUE] = effort.worked
        for helper in effort.helpers:
            design[row, FIXED + helper] += 1.0 / len(effort.helpers)
    groups: dict[tuple[tuple[int, ...], int], int] = {}
    group = np.array([groups.setdefault((e.helpers, e.day), len(groups)) for e in usable], dtype=np.int64)
    log_effort = np.array([math.log(_best(e) / e.units) for e in usable])
    return EffortArrays(log_effort, np.array([e.units for e in usable]), design, group), usable


def _best(effort: Effort) -> float:
    """Hours up to the shift's end where a stint ran past it: the rest is most likely a timer left on."""
    return effort.hours if effort.clipped is None else effort.clipped


@dataclass(frozen=True)
class Sums:
    """What the spells of a stage say, given its spreads: precision and precision-weighted sum."""

    xx: Array
    xy: Array


@dataclass(frozen=True)
class Posterior:
    """What is known of one stage: a mixture over the grid of Gaussians for (μ, β, κ, φ, α of each helper).

    ``weights`` (spells) tell how much each spell counts: below 1 for one that does not fit the rest.
    """

    prior: Prior
    chance: Array  # grid
    spreads: Array  # grid × (σ, τ, ω)
    means: Array  # grid × coefficients
    factors: Array  # grid × coefficients × coefficients: F with F·Fᵀ the covariance
    weights: Array
    sums: Sums

    def draw(self, number: int, rng: np.random.Generator) -> tuple[Array, Array]:
        """Independent draws: coefficients (number × (FIXED + helpers)) and spreads (number × 3)."""
        picked = rng.choice(len(self.chance), size=number, p=self.chance)
        normal = rng.standard_normal((number, self.means.shape[1]))
        coefficients = self.means[picked] + np.einsum("tij,tj->ti", self.factors[picked], normal)
        return coefficients, self.spreads[picked]

    @property
    def mean(self) -> Array:
        """Posterior means of (μ, β, κ, φ, α of each helper)."""
        return np.asarray(self.chance @ self.means)

    @property
    def sd(self) -> Array:
        """Posterior standard deviations of (μ, β, κ, φ, α of each helper)."""
        variances = np.einsum("gij,gij->gi", self.factors, self.factors)
        return np.asarray(np.sqrt(self.chance @ (variances + (self.means - self.mean) ** 2)))

    @property
    def spread(self) -> Array:
        """Posterior means of σ, τ, ω."""
        return np.asarray(self.chance @ self.spreads)


def learn(data: EffortArrays, helpers: int, prior: Prior) -> Posterior:
    """The posterior of one stage; spells that do not fit are given less weight, round by round."""
    weights = _first_weights(data) if prior.robust else np.ones(data.count)
    coarse = _grid(prior, data.count > 0, 3)
    for _ in range(ROUNDS if prior.robust and data.count else 0):
        new = _fit_weights(data, _gaussian(data, weights, helpers, prior, coarse))
        settled = np.max(np.abs(new - weights)) < 0.01
        weights = new
        if settled:
            break
    return _gaussian(data, weights, helpers, prior, _grid(prior, data.count > 0, 1))


def _first_weights(data: EffortArrays) -> Array:
    """From the median: one wild spell must not widen the spread that should find it."""
    if data.count < 3:
        return np.ones(data.count)
    off = data.log_effort - np.median(data.log_effort)
    scale = max(0.1, 1.4826 * float(np.median(np.abs(off))))
    return _limited(off / scale)


def _fit_weights(data: EffortArrays, posterior: Posterior) -> Array:
    sigma, _, omega = posterior.spread
    size = np.sqrt(sigma**2 * (1 + posterior.prior.small_units / data.units) + omega**2)
    return _limited((data.log_effort - data.design @ posterior.mean) / size)


def _limited(standardised: Array) -> Array:
    """1 within ODD_SIGMAS, then falling with the square: the influence of a wild spell stays bounded."""
    away = np.maximum(np.abs(standardised), ODD_SIGMAS)
    return np.asarray((ODD_SIGMAS / away) ** 2)


def _gaussian(data: EffortArrays, weights: Array, helpers: int, prior: Prior, points: Array) -> Posterior:
    """The exact posterior given the weights of the spells."""
    parts = _Parts.of(data, weights / (1 + prior.small_units / np.maximum(data.units, 1e-9)))
    logs, means, factors = _solve(parts, points, helpers, prior)
    chance = np.exp(logs - logs.max())
    kept = chance > 1e-3 * chance.max()
    chance = chance[kept] / chance[kept].sum()
    usual = np.array([chance @ points[kept]])
    xx, xy, _, _ = _weighed(parts, usual)
    return Posterior(prior, chance, points[kept], means[kept], factors[kept], weights, Sums(xx[0], xy[0]))


def _grid(prior: Prior, measured: bool, every: int) -> Array:
    """Grid points (σ, τ, ω); with nothing measured, beliefs alone on fewer points."""
    omegas = prior.omegas[::every] if measured else prior.omegas[:1]
    step = every if measured else max(2, every)
    return np.array([(s, t, o) for s in prior.sigmas[::step] for t in prior.taus[::step] for o in omegas])


@dataclass(frozen=True)
class _Parts:
    """Sums over spells that every grid point shares."""

    count: int
    log_base: float
    xx: Array
    xy: Array
    yy: float
    group_x: Array  # groups × coefficients
    group_y: Array
    group_n: Array

    @staticmethod
    def of(data: EffortArrays, base: Array) -> _Parts:
        x, y = data.design, data.log_effort
        weighted = base[:, None] * x
        groups = int(data.group.max()) + 1 if data.count else 0
        group_x = np.zeros((groups, x.shape[1]))
        np.add.at(group_x, data.group, weighted)
        group_y = np.bincount(data.group, base * y, groups).astype(np.float64)
        group_n = np.bincount(data.group, base, groups).astype(np.float64)
        log_base = float(np.log(base).sum())
        return _Parts(
            data.count, log_base, x.T @ weighted, weighted.T @ y, float(base @ y**2), group_x, group_y, group_n
        )


def _weighed(parts: _Parts, points: Array) -> tuple[Array, Array, Array, Array]:
    """XᵀV⁻¹X, XᵀV⁻¹y, yᵀV⁻¹y and log|V| at all grid points (day effects summed out by groups)."""
    sigma, _, omega = points.T
    precise = sigma**-2.0
    spread = omega[:, None] ** 2 * precise[:, None] * parts.group_n  # grid × groups
    shrink = precise[:, None] ** 2 * omega[:, None] ** 2 / (1.0 + spread)
    grouped = np.einsum("gk,ki,kj->gij", shrink, parts.group_x, parts.group_x, optimize=True)
    xx = precise[:, None, None] * parts.xx - grouped
    xy = precise[:, None] * parts.xy - (shrink * parts.group_y) @ parts.group_x
    yy = precise * parts.yy - shrink @ parts.group_y**2
    return xx, xy, yy, np.log1p(spread).sum(axis=1) + 2 * parts.count * np.log(sigma) - parts.log_base


def _solve(parts: _Parts, points: Array, helpers: int, prior: Prior) -> tuple[Array, Array, Array]:
    """Log weights, means and covariance factors at all grid points."""
    tau = points[:, 1]
    xx, xy, yy, log_det = _weighed(parts, points)
    centre = np.zeros(FIXED + helpers)
    centre[:FIXED] = prior.centre
    believed = np.repeat(tau[:, None] ** -2.0, FIXED + helpers, axis=1)
    believed[:, :FIXED] = prior.sureness
    diagonal = np.arange(FIXED + helpers)
    precision = xx.copy()
    precision[:, diagonal, diagonal] += believed
    lower = np.linalg.cholesky(precision)
    inverse = np.linalg.inv(lower)
    half = np.einsum("gij,gj->gi", inverse, xy - xx @ centre)
    misfit = yy - 2 * xy @ centre + xx @ centre @ centre - (half**2).sum(axis=1)
    log_det += 2 * np.log(lower[:, diagonal, diagonal]).sum(axis=1) - np.log(believed).sum(axis=1)
    factors = inverse.transpose(0, 2, 1)
    means = centre + np.einsum("gij,gj->gi", factors, half)
    return prior.log_weight(points) - 0.5 * (log_det + misfit), means, factors
