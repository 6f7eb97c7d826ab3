"""What is drawn once a trial: the crew's efforts, who comes, what fails; and the calm trial without chance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtri

from buildlog.core.forecast.input import ForecastInput, JobInput
from buildlog.core.forecast.learn.attendance import LEAVES, around
from buildlog.core.forecast.learn.rates import FIXED
from buildlog.core.forecast.simulate.arrays import Learned
from buildlog.core.forecast.simulate.state import B1, F8, Draws

# What no log can tell: how far the rest of the build differs from what was seen (rings that are harder, rates that
# drift), as spreads of the log of effort, of all stages at once and of each. Set on invented builds: tests/bench.
SHARED_ERROR, STAGE_ERROR = 0.07, 0.08


def draws_of(inputs: ForecastInput, learned: Learned, trials: int, seed: int) -> Draws:
    """Everything that is drawn once a trial."""
    rng = np.random.default_rng(seed)
    crew = inputs.known
    effort, stages = np.zeros((trials, crew, 4)), np.zeros((trials, 4, 5))
    key = rng.integers(1, 2**62, size=trials)
    drawn = learned.crew.draw(trials, rng)
    unknown = SHARED_ERROR * rng.standard_normal((trials, 1)) + STAGE_ERROR * rng.standard_normal((trials, 4))
    for stage, posterior in enumerate(learned.stages):
        spreads = posterior.draw(trials, rng)[1]
        effort[:, :, stage] = drawn[:, stage, :1] + drawn[:, stage, FIXED:] + unknown[:, stage, None]
        stages[:, stage, :3], stages[:, stage, 3:] = drawn[:, stage, 1:FIXED], spreads[:, ::2]
    usual, comes = learned.comes.draw(trials, rng)
    fails = learned.fails.draw(trials, rng) * inputs.rework
    once = [
        fails,
        learned.rework.draw(trials, rng),
        np.full(trials, learned.rework.spread),
        _habit(rng.random(trials), learned.habits.keep, inputs.keeps),
        _habit(rng.random(trials), learned.habits.in_order, inputs.in_order),
        np.full(trials, learned.pauses.between),
        learned.together.draw(trials, rng),
    ]
    leaves = _leaving(learned, crew, trials, rng)
    new = [np.random.default_rng([seed, number]) for number in range(len(inputs.helpers) - crew + 1)]
    return Draws(
        key=key,
        effort=np.hstack([effort, _added_effort(learned, drawn, unknown, new)]),
        stage=stages,
        comes=ndtri(np.hstack([comes, _added_comes(usual, new[1:])])),
        leaves=np.hstack([leaves, np.full((trials, len(new) - 1), np.inf)]),
        once=np.array(once, dtype=np.float64).T.copy(),
        job_hours=draw_jobs(inputs.jobs, trials, rng),
    )


def _habit(drawn: F8, chance: float, said: bool | None) -> B1:
    """As the log shows, unless somebody says otherwise."""
    return drawn < chance if said is None else np.full(len(drawn), said)


def _added_effort(learned: Learned, drawn: F8, unknown: F8, rngs: Sequence[np.random.Generator]) -> F8:
    """Trials × added helpers × stages: like the crew as a whole.

    Whoever is added changes nobody else's luck, that of others who are added neither: one generator for what they
    share, then one each.
    """
    trials = len(drawn)
    spreads = learned.crew.spreads[rngs[0].choice(len(learned.crew.chance), size=trials, p=learned.crew.chance)]
    own = [spreads[:, :1] * rng.standard_normal((trials, 1)) + spreads[:, 1:2] * rng.standard_normal((trials, 4))
           for rng in rngs[1:]]  # fmt: skip
    usual = drawn[:, :, 0] + unknown
    return np.stack([usual + one for one in own], axis=1) if own else np.zeros((trials, 0, 4))


def _added_comes(usual: F8, rngs: Sequence[np.random.Generator]) -> F8:
    nothing = np.zeros((len(usual), 1))
    return np.hstack([np.zeros((len(usual), 0)), *(around(usual[:, None], nothing, nothing, rng) for rng in rngs)])


def _leaving(learned: Learned, crew: int, trials: int, rng: np.random.Generator) -> F8:
    """Trials × helpers: how many more days each will come before they leave for good (0 = gone already)."""
    more = rng.geometric(LEAVES, size=(trials, crew)).astype(np.float64)
    gone = np.array([belief.gone for belief in learned.comes.helpers])
    return np.where(rng.random(more.shape) < gone, 0.0, more)


def draw_jobs(jobs: Sequence[JobInput], trials: int, rng: np.random.Generator) -> F8:
    """Person-hours of each job: beta-PERT (D. Vose, Risk Analysis), 0 for those done."""
    table = np.zeros((trials, len(jobs)))
    for number, job in enumerate(jobs):
        width = job.high - job.low
        if job.done:
            continue
        if width <= 0:
            table[:, number] = max(job.likely, 1e-6)
            continue
        a = 1 + 4 * (job.likely - job.low) / width
        b = 1 + 4 * (job.high - job.likely) / width
        table[:, number] = np.maximum(job.low + width * rng.beta(a, b, size=trials), 1e-6)
    return table


def calm_luck(inputs: ForecastInput, learned: Learned) -> Draws:
    """One trial with noise off: everybody comes, rates at their means, no test fails, jobs take their mean."""
    crew = len(inputs.helpers)
    effort, stages = np.zeros((1, crew, 4)), np.zeros((1, 4, 5))
    for stage, posterior in enumerate(learned.stages):
        mean, (sigma, _, omega) = learned.crew.mean[stage], posterior.spread
        effort[0, :, stage] = mean[0] + 0.5 * (sigma**2 + omega**2)
        effort[0, : inputs.known, stage] += mean[FIXED:]
        stages[0, stage, :3] = mean[1:FIXED]
    keeps = learned.habits.keep > 0.5 if inputs.keeps is None else inputs.keeps
    hours = [0.0 if job.done else max((job.low + 4 * job.likely + job.high) / 6, 1e-6) for job in inputs.jobs]
    return Draws(
        key=np.array([1]),
        effort=effort,
        stage=stages,
        comes=np.full((1, crew), np.inf),
        leaves=np.full((1, crew), np.inf),
        once=np.array([[0.0, learned.rework.centre, 0.0, float(keeps), 0.0, learned.pauses.between, 0.0]]),
        job_hours=np.array([hours]).reshape(1, len(inputs.jobs)),
    )
