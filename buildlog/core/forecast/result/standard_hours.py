"""Work counted in standard hours: what the whole build is worth, how much of it is done, what was promised by when.

One measure for four stages and jobs together: person-hours at the build's standard rates, jobs at the mean of their
three estimates. A job that is done without an hour logged on it was done outside the log and counts nowhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np

from buildlog.core.forecast.calendar import local_day, shifts_to_come
from buildlog.core.forecast.input import DaysTicks, ForecastInput, hours_of
from buildlog.core.forecast.learn.observations import Array, Observations
from buildlog.core.forecast.result.earned_value import Curve, Earned, EarnedSchedule
from buildlog.core.work.stages import STAGE_COUNT, STAGES


@dataclass(frozen=True)
class Budget:
    """The work of an input in standard person-hours."""

    inputs: ForecastInput

    @cached_property
    def stages(self) -> Array:
        """Segments × stages."""
        rate = self.inputs.standard.rate
        stages = range(STAGE_COUNT)
        rows = [[segment.units(stage) / rate(stage) for stage in stages] for segment in self.inputs.segments]
        return np.array(rows, dtype=np.float64).reshape(len(rows), STAGE_COUNT)

    @cached_property
    def jobs(self) -> Array:
        """One a job: (low + 4·likely + high) ÷ 6."""
        logged = {stint.work for stint in self.inputs.stints}
        means = [(job.low + 4 * job.likely + job.high) / 6 for job in self.inputs.jobs]
        outside = [job.done and job.name not in logged for job in self.inputs.jobs]
        return np.where(outside, 0.0, means) if means else np.zeros(0)

    @cached_property
    def total(self) -> float:
        return float(self.stages.sum() + self.jobs.sum())

    @cached_property
    def done(self) -> float:
        """What has passed its stage, and the jobs that are done."""
        passed = [
            [min(done, segment.pixels) / segment.pixels for done in segment.done] for segment in self.inputs.segments
        ]
        ended = self.jobs @ np.array([job.done for job in self.inputs.jobs], dtype=np.float64)
        shares = np.array(passed, dtype=np.float64).reshape(len(passed), STAGE_COUNT)
        return float((self.stages * shares).sum() + ended)

    @property
    def jobs_left(self) -> float:
        return float(self.jobs @ np.array([not job.done for job in self.inputs.jobs], dtype=np.float64))


def done_by_day(budget: Budget, ticks: Iterable[DaysTicks], jobs_done: Iterable[tuple[str, float]] = ()) -> Curve:
    """Share of the work done, from 0 at the first stint to now: one point [h UTC, share] for each day with a tick."""
    inputs = budget.inputs
    if budget.total <= 0:
        return ()
    steps = sorted([*_gains(budget, ticks), *_jobs_gained(budget, jobs_done)])
    points: dict[int, tuple[float, float]] = {}
    sum_h = 0.0
    for day, moment, hours in steps:
        sum_h += hours
        points[day] = (max(moment, points.get(day, (moment, 0.0))[0]), sum_h / budget.total)
    begins = [*(stint.start for stint in inputs.stints), *(moment for moment, _ in points.values())]
    return ((min(begins, default=inputs.as_of), 0.0), *points.values(), (inputs.as_of, budget.done / budget.total))


def _gains(budget: Budget, ticks: Iterable[DaysTicks]) -> Iterable[tuple[int, float, float]]:
    """(day, moment, standard hours) by which each day's ticks raised what is done; sums count from 0 to all pixels."""
    sums: dict[tuple[int, int], int] = {}
    order = {stage.value: number for number, stage in enumerate(STAGES)}
    for tick in sorted(ticks, key=lambda tick: tick.day):
        place = budget.inputs.place.get(tick.segment)
        if place is None:  # of a segment that the plan no longer has
            continue
        whole, stage = budget.inputs.segments[place].pixels, order[tick.stage]
        before = sums.get((place, stage), 0)
        sums[place, stage] = before + tick.pixels
        gained = min(max(before + tick.pixels, 0), whole) - min(max(before, 0), whole)
        yield tick.day, tick.last, float(budget.stages[place, stage]) * gained / whole


def _jobs_gained(budget: Budget, jobs_done: Iterable[tuple[str, float]]) -> Iterable[tuple[int, float, float]]:
    worth = {job.name: float(hours) for job, hours in zip(budget.inputs.jobs, budget.jobs, strict=True)}
    for name, moment in jobs_done:
        yield local_day(moment, budget.inputs.time_zone), moment, worth[name]


def midnights(begin: float, end: float, time_zone: str) -> Array:
    """The local midnights after one moment and up to another [h UTC]."""
    zone = ZoneInfo(time_zone)
    days = range(local_day(begin, time_zone) + 1, local_day(end, time_zone) + 1)
    return np.array([hours_of(datetime.combine(date.fromordinal(day), time(), zone)) for day in days], dtype=np.float64)


def promised(inputs: ForecastInput, moments: Array, since: float = -math.inf) -> Array:
    """Person-hours of shifts from one moment to each of these, whoever came or comes."""
    shifts = [shift for helper in inputs.helpers for shift in shifts_to_come(helper, since)]
    start = np.array([shift.start for shift in shifts], dtype=np.float64)
    end = np.array([shift.end for shift in shifts], dtype=np.float64)
    return np.array([np.clip(moment - start, 0.0, end - start).sum() for moment in moments], dtype=np.float64)


def earned_of(budget: Budget, logged: Observations) -> Earned | None:
    """Value in standard person-hours; None where there is no work.

    PV is what the promised hours up to now give at standard rates, everybody coming and all work open: the hours
    themselves, up to the whole budget. EV is the work done at standard rates, AC the person-hours logged.
    """
    if budget.total <= 0:
        return None
    due = min(budget.total, float(promised(budget.inputs, np.array([budget.inputs.as_of]))[0]))
    return Earned(
        budget=budget.total,
        planned=due,
        earned=min(budget.done, budget.total),
        spent=math.fsum(logged.hours.values()),
    )


def schedule_of(budget: Budget) -> tuple[float, EarnedSchedule] | None:
    """(the midnight it counts from [h UTC], earned schedule in days). None where the promised hours are too few for
    the budget, and before the first of them.
    """
    inputs = budget.inputs
    shifts = [shift for helper in inputs.helpers for shift in helper.shifts]
    if not shifts or budget.total <= 0:
        return None
    begin = min(shift.start for shift in shifts)
    first = float(midnights(begin - 48, begin, inputs.time_zone)[-1])
    ends = midnights(first, max(shift.end for shift in shifts) + 25, inputs.time_zone)
    sums = promised(inputs, ends)
    enough = np.flatnonzero(sums >= budget.total - 1e-9)
    if not len(enough) or inputs.as_of < first:
        return None
    plan = [(float(day + 1), min(budget.total, float(hours))) for day, hours in enumerate(sums[: enough[0] + 1])]
    plan[-1] = (plan[-1][0], budget.total)
    return first, EarnedSchedule(((0.0, 0.0), *plan), min(budget.done, budget.total), (inputs.as_of - first) / 24)
