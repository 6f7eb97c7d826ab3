"""What is saved of a forecast besides what is printed: what drawings, earned value and the track record need."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import structs

from buildlog.core.forecast.input import DaysTicks
from buildlog.core.forecast.learn.plain_estimates import plain_estimates
from buildlog.core.forecast.result.document.coding import moment, moment_or_none
from buildlog.core.forecast.result.document.forecast import (
    EarnedRecord,
    Fan,
    ForecastDocument,
    PlainEstimates,
    Point,
    Schedule,
)
from buildlog.core.forecast.result.earned_value import Curve
from buildlog.core.forecast.result.fan import CUTS, fan_of
from buildlog.core.forecast.result.forecast import Forecast
from buildlog.core.forecast.result.standard_hours import Budget, done_by_day, earned_of, promised, schedule_of
from buildlog.core.work.stages import STAGES

FINISH_CUTS = range(5, 100, 5)
WAITS = (*(stage.value for stage in STAGES), "open", "limit")


def document_to_save(
    seen: Forecast, ticks: Iterable[DaysTicks], jobs_done: Iterable[tuple[str, float]]
) -> ForecastDocument:
    """The whole document. ``jobs_done``: (job, [h UTC])."""
    budget, zone = Budget(seen.inputs), seen.inputs.time_zone
    return structs.replace(
        seen.document(),
        done=_points(done_by_day(budget, ticks, jobs_done), zone),
        fan=_fan(seen, budget),
        odds={cut: moment_or_none(seen.finish_at(cut), zone) for cut in FINISH_CUTS},
        plain=_plain(seen, budget),
        waits=dict(zip(WAITS, _tidy(seen.waits.mean(axis=0)), strict=True)),
        earned=_earned(seen, budget),
    )


def _fan(seen: Forecast, budget: Budget) -> Fan | None:
    curves, zone = fan_of(seen, budget), seen.inputs.time_zone
    if curves is None:
        return None
    return Fan(
        at=tuple(moment(float(at), zone) for at in curves.at),
        shares={cut: _tidy(shares) for cut, shares in zip(CUTS, curves.shares, strict=True)},
        promised=_tidy(promised(seen.inputs, curves.at, seen.inputs.as_of)),
    )


def _plain(seen: Forecast, budget: Budget) -> PlainEstimates:
    """Jobs at their means, in both: neither of the two knows anything of them."""
    estimates, jobs = plain_estimates(seen.inputs, seen.learned.observations), budget.jobs_left
    overall = None if estimates.overall is None else round(estimates.overall + jobs, 4)
    return PlainEstimates(round(estimates.by_stage + jobs, 4), overall)


def _earned(seen: Forecast, budget: Budget) -> EarnedRecord | None:
    earned = earned_of(budget, seen.learned.observations)
    if earned is None:
        return None
    budgeted, planned, gained, spent = _tidy((earned.budget, earned.planned, earned.earned, earned.spent))
    return EarnedRecord(budgeted, planned, gained, spent, _schedule(budget))


def _schedule(budget: Budget) -> Schedule | None:
    if (course := schedule_of(budget)) is None:
        return None
    first, schedule = course
    plan = tuple((day, round(hours, 4)) for day, hours in schedule.plan)
    return Schedule(start=moment(first, budget.inputs.time_zone), plan=plan, now=round(schedule.now, 4))


def _points(curve: Curve, zone: str) -> tuple[Point, ...]:
    return tuple((moment(at, zone), round(share, 4)) for at, share in curve)


def _tidy(values: Iterable[float]) -> tuple[float, ...]:
    return tuple(round(float(value), 4) for value in values)
