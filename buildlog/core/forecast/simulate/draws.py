"""What is drawn once a trial: the crew's efforts, who comes, what fails; and the calm trial without chance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtri

from buildlog.core.forecast.input import ForecastInput, JobInput
from buildlog.core.forecast.learn.attendance import DROPOUT, helper_rates
from buildlog.core.forecast.learn.rates import FIXED
from buildlog.core.forecast.simulate.arrays import Learned
from buildlog.core.forecast.simulate.records import B1, F8, ONCE, STAGE_DRAW
from buildlog.core.forecast.simulate.state import Draws
from buildlog.core.work.stages import STAGE_COUNT

# What no log can tell: how far the rest of the build differs from what was seen (rings that are harder, rates that
# drift), as spreads of the log of effort, of all stages at once and of each. Set on invented builds: tests/bench.
SHARED_ERROR, STAGE_ERROR = 0.07, 0.08
SLOPES = ("curve", "growth", "fatigue")  # as the posterior has them, after the mean


def draws_of(inputs: ForecastInput, learned: Learned, trials: int, seed: int) -> Draws:
    """Everything that is drawn once a trial."""
    rng = np.random.default_rng(seed)
    crew = inputs.known
    effort, stages = np.zeros((trials, crew, STAGE_COUNT)), np.zeros((trials, STAGE_COUNT), STAGE_DRAW)
    key = rng.integers(1, 2**62, size=trials)
    drawn = learned.crew.draw(trials, rng)
    unknown = SHARED_ERROR * rng.standard_normal((trials, 1)) + STAGE_ERROR * rng.standard_normal((trials, STAGE_COUNT))
    for stage, posterior in enumerate(learned.stages):
        spreads = posterior.draw(trials, rng)[1]
        effort[:, :, stage] = drawn[:, stage, :1] + drawn[:, stage, FIXED:] + unknown[:, stage, None]
        for field, values in zip(SLOPES, drawn[:, stage, 1:FIXED].T, strict=True):
            stages[field][:, stage] = values
        stages["sigma"][:, stage], stages["omega"][:, stage] = spreads[:, 0], spreads[:, 2]
    usual, attendance = learned.attendance.draw(trials, rng)
    once = np.zeros(trials, ONCE)
    once["failure_rate"] = learned.failure_rate.draw(trials, rng) * inputs.rework
    once["mend_centre"] = learned.rework.draw(trials, rng)
    once["mend_spread"] = learned.rework.spread
    once["keeps"] = _habit(rng.random(trials), learned.habits.keep, inputs.keeps)
    once["in_order"] = _habit(rng.random(trials), learned.habits.in_order, inputs.in_order)
    once["pause"] = learned.pauses.between
    once["shared_part"] = learned.shared_attendance.draw(trials, rng)
    days_left = _days_left(learned, crew, trials, rng)
    new = [np.random.default_rng([seed, number]) for number in range(len(inputs.helpers) - crew + 1)]
    return Draws(
        key=key,
        effort=np.hstack([effort, _added_effort(learned, drawn, unknown, new)]),
        stages=stages,
        attendance=ndtri(np.hstack([attendance, _added_attendance(usual, new[1:])])),
        days_left=np.hstack([days_left, np.full((trials, len(new) - 1), np.inf)]),
        once=once,
        job_hours=draw_jobs(inputs.jobs, trials, rng),
    )


def _habit(drawn: F8, chance: float, set_habit: bool | None) -> B1:
    """As the log shows, unless somebody says otherwise."""
    return drawn < chance if set_habit is None else np.full(len(drawn), set_habit)


def _added_effort(learned: Learned, drawn: F8, unknown: F8, rngs: Sequence[np.random.Generator]) -> F8:
    """Trials × added helpers × stages: like the crew as a whole.

    Whoever is added changes nobody else's draws, those of others who are added neither: one generator for what they
    share, then one each.
    """
    trials = len(drawn)
    spreads = learned.crew.spreads[rngs[0].choice(len(learned.crew.chance), size=trials, p=learned.crew.chance)]
    ability, at_stage = spreads[:, :1], spreads[:, 1:]
    own = [
        ability * rng.standard_normal((trials, 1)) + at_stage * rng.standard_normal((trials, STAGE_COUNT))
        for rng in rngs[1:]
    ]
    usual = drawn[:, :, 0] + unknown
    return np.stack([usual + deviation for deviation in own], axis=1) if own else np.zeros((trials, 0, STAGE_COUNT))


def _added_attendance(usual: F8, rngs: Sequence[np.random.Generator]) -> F8:
    nothing = np.zeros((len(usual), 1))
    return np.hstack(
        [np.zeros((len(usual), 0)), *(helper_rates(usual[:, None], nothing, nothing, rng) for rng in rngs)]
    )


def _days_left(learned: Learned, crew: int, trials: int, rng: np.random.Generator) -> F8:
    """Trials × helpers: how many more days each will come before they leave for good (0 = gone already)."""
    more = rng.geometric(DROPOUT, size=(trials, crew)).astype(np.float64)
    gone = np.array([belief.gone for belief in learned.attendance.helpers])
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


def calm_draws(inputs: ForecastInput, learned: Learned) -> Draws:
    """One trial with noise off: everybody comes, rates at their means, no test fails, jobs take their mean."""
    crew = len(inputs.helpers)
    effort, stages = np.zeros((1, crew, STAGE_COUNT)), np.zeros((1, STAGE_COUNT), STAGE_DRAW)
    for stage, posterior in enumerate(learned.stages):
        mean, (sigma, _, omega) = learned.crew.mean[stage], posterior.spread
        effort[0, :, stage] = mean[0] + 0.5 * (sigma**2 + omega**2)
        effort[0, : inputs.known, stage] += mean[FIXED:]
        for field, value in zip(SLOPES, mean[1:FIXED], strict=True):
            stages[field][0, stage] = value
    once = np.zeros(1, ONCE)
    once["mend_centre"], once["pause"] = learned.rework.centre, learned.pauses.between
    once["keeps"] = learned.habits.keep > 0.5 if inputs.keeps is None else inputs.keeps
    hours = [0.0 if job.done else max((job.low + 4 * job.likely + job.high) / 6, 1e-6) for job in inputs.jobs]
    return Draws(
        key=np.array([1]),
        effort=effort,
        stages=stages,
        attendance=np.full((1, crew), np.inf),
        days_left=np.full((1, crew), np.inf),
        once=once,
        job_hours=np.array([hours]).reshape(1, len(inputs.jobs)),
    )
