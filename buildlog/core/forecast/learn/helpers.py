"""What one stage says about another, by partial pooling: whoever is quick at one stage is quick at most.

The stages are first learned apart (``rates``). Then their helpers are taken together: the effects of a helper at the
four stages share an ability, α_hs = g_h + b_hs with g_h ~ N(0, γ²), b_hs ~ N(0, τ²). Given each stage's σ and ω (kept
at their posterior means) and (γ, τ) on a grid, everything is one Gaussian again: exact up to the grid, draws
independent. A helper not yet seen at a stage gets what the others there and their own other stages say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.learn.observations import Array
from buildlog.core.forecast.learn.rates import FIXED, Posterior, Sums

ABILITY_SPREADS = (0.03, 0.10, 0.18, 0.27, 0.38, 0.55)
STAGE_SPREADS = (0.04, 0.10, 0.17, 0.26, 0.38, 0.55)
ABILITY_SCALE, STAGE_SCALE = 0.25, 0.25  # half-normal beliefs


@dataclass(frozen=True)
class CrewPosterior:
    """What is known of all stages together: a mixture over the grid of Gaussians, stages × (μ, β, κ, φ, α of each)."""

    stages: tuple[Posterior, ...]
    chance: Array  # grid
    spreads: Array  # grid × (γ, τ)
    means: Array  # grid × (stages·coefficients)
    factors: Array  # grid × … × …: F with F·Fᵀ the covariance

    @property
    def mean(self) -> Array:
        """Posterior means, stages × (μ, β, κ, φ, α of each helper)."""
        return np.asarray(self.chance @ self.means).reshape(len(self.stages), -1)

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        """Independent draws: number × stages × (μ, β, κ, φ, α of each helper)."""
        picked = rng.choice(len(self.chance), size=number, p=self.chance)
        normal = rng.standard_normal((number, self.means.shape[1]))
        drawn = np.empty_like(normal)
        for point in np.unique(picked):
            own = picked == point
            drawn[own] = self.means[point] + normal[own] @ self.factors[point].T
        return drawn.reshape(number, len(self.stages), -1)


def pooled(stages: Sequence[Posterior], helpers: int) -> CrewPosterior:
    """Join the posteriors of the stages."""
    sums = [posterior.sums for posterior in stages]
    points = np.array([(ability, at_stage) for ability in ABILITY_SPREADS for at_stage in STAGE_SPREADS])
    solved = [_solve(sums, ability, at_stage, helpers, stages) for ability, at_stage in points]
    logs = np.array([log for log, _, _ in solved])
    chance = np.exp(logs - logs.max())
    kept = chance > 1e-3 * chance.max()
    return CrewPosterior(
        tuple(stages),
        chance[kept] / chance[kept].sum(),
        points[kept],
        np.array([mean for _, mean, _ in solved])[kept],
        np.array([factor for _, _, factor in solved])[kept],
    )


def _solve(
    sums: Sequence[Sums], ability: float, at_stage: float, helpers: int, stages: Sequence[Posterior]
) -> tuple[float, Array, Array]:
    """Log weight, mean and covariance factor at one point of the grid."""
    count, width = len(sums), FIXED + helpers
    believed, log_det = _believed(ability, at_stage, helpers, stages)
    precision = believed.copy()
    centre = np.zeros(count * width)
    gap = np.zeros(count * width)
    for number, (measured, posterior) in enumerate(zip(sums, stages, strict=True)):
        part = slice(number * width, (number + 1) * width)
        precision[part, part] += measured.xx
        centre[part][:FIXED] = posterior.prior.centre
        gap[part] = measured.xy - measured.xx @ centre[part]
    lower = np.linalg.cholesky(precision)
    inverse = np.linalg.inv(lower)
    half = inverse @ gap
    log = -0.5 * ((ability / ABILITY_SCALE) ** 2 + (at_stage / STAGE_SCALE) ** 2)
    log += 0.5 * float(half @ half) - float(np.log(np.diag(lower)).sum()) + 0.5 * log_det
    factor = inverse.T
    return log, centre + factor @ half, factor


def _believed(ability: float, at_stage: float, helpers: int, stages: Sequence[Posterior]) -> tuple[Array, float]:
    """Prior precision of all coefficients, and its log determinant."""
    count, width = len(stages), FIXED + helpers
    table = np.zeros((count * width, count * width))
    log_det = 0.0
    for number, posterior in enumerate(stages):
        fixed = posterior.prior.sureness
        at = number * width + np.arange(FIXED)
        table[at, at] = fixed
        log_det += float(np.log(fixed).sum())
    between = np.linalg.inv(ability**2 * np.ones((count, count)) + at_stage**2 * np.eye(count))
    for helper in range(helpers):
        at = FIXED + helper + width * np.arange(count)
        table[np.ix_(at, at)] = between
    return table, log_det + helpers * float(np.linalg.slogdet(between)[1])
