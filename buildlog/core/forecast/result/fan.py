"""The fan of what is to come: the share of the work that is done by each day, by quantiles over the trials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.calendar import last_known
from buildlog.core.forecast.learn.observations import Array
from buildlog.core.forecast.result.forecast import Forecast
from buildlog.core.forecast.result.standard_hours import Budget, midnights
from buildlog.core.forecast.simulate.arrays import arrays_of
from buildlog.core.forecast.simulate.records import JOB, Records
from buildlog.core.forecast.simulate.run import play_some
from buildlog.core.forecast.simulate.state import no_log, no_results
from buildlog.core.work.stages import STAGES

TRIALS = 400  # whose course is followed; the finish itself comes from all of them
CUTS = (10, 25, 50, 75, 90)
MOST_POINTS = 90


@dataclass(frozen=True)
class FanCurves:
    """``at`` [h UTC], from now on; ``shares`` (cuts × moments), 0 to 1, rising along both."""

    at: Array
    shares: Array


def fan_of(seen: Forecast, budget: Budget) -> FanCurves | None:
    """The fan of a forecast; None when nothing is left, or nobody comes any more."""
    end = seen.finish_at(95) or last_known(seen.inputs)
    if seen.inputs.all_done or end is None or budget.total <= 0:
        return None
    at = moments(seen, end)
    courses = np.array([course for course in _courses(seen, budget, at)])
    shares = np.minimum(1.0, (budget.done + np.quantile(courses, np.array(CUTS) / 100, axis=0)) / budget.total)
    return FanCurves(at, np.maximum.accumulate(shares, axis=1))


def moments(seen: Forecast, end: float) -> Array:
    """Now, the local midnights up to the end (thinned when there are many), and when it may be ready."""
    as_of = seen.inputs.as_of
    days = midnights(as_of, end, seen.inputs.time_zone)
    days = days[:: max(1, -(-len(days) // MOST_POINTS))]
    ready = [moment for cut in CUTS if (moment := seen.finish_at(cut)) is not None]
    return np.unique(np.round([as_of, *days, *ready, end], 4))


def _courses(seen: Forecast, budget: Budget, at: Array) -> list[Array]:
    """Standard hours done from now to each moment, trial by trial, counted where each chunk of work ends."""
    arrays = arrays_of(seen.inputs, seen.learned)
    results = no_results(seen.trials)
    room = 16 * len(seen.inputs.segments) + 400
    after = at - seen.inputs.as_of
    courses = []
    for trial in range(min(TRIALS, seen.trials)):
        log = no_log(room)
        while (chunks := play_some(arrays, seen.draws, log, results, trial, trial + 1)) >= room:
            room *= 2
            log = no_log(room)
        courses.append(_course(log[:chunks], _worth(log[:chunks], seen, budget, trial), after))
    return courses


def _worth(log: Records, seen: Forecast, budget: Budget, trial: int) -> Array:
    """Standard hours in each chunk: units at the standard rate, jobs by the share done of them; rework is worth 0."""
    kind, work, units = log["kind"], log["work"], log["units"]
    rate = np.array([seen.inputs.standard.rate(stage.number) for stage in STAGES])
    worth = np.where(kind < JOB, units / rate[np.minimum(kind, JOB - 1)], 0.0)
    jobs = np.flatnonzero(kind == JOB)
    worth[jobs] = units[jobs] * budget.jobs[work[jobs]] / seen.draws.job_hours[trial, work[jobs]]
    return worth


def _course(log: Records, worth: Array, after: Array) -> Array:
    place = np.searchsorted(after, log["end"] - 1e-6)
    by_moment = np.bincount(np.minimum(place, len(after)), worth, len(after) + 1)[:-1]
    return np.asarray(np.cumsum(by_moment), dtype=np.float64)
