"""What is kept of a forecast besides its document: what the drawings, the earned value and the later record need."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from buildlog.core.forecast.calendar import iso
from buildlog.core.forecast.learn.plain_estimates import plain_estimates
from buildlog.core.forecast.result.earned_value import Curve
from buildlog.core.forecast.result.fan import CUTS, fan_of
from buildlog.core.forecast.result.forecast import Forecast
from buildlog.core.forecast.result.standard_hours import (
    Budget,
    DaysTicks,
    done_by_day,
    earned_of,
    promised,
    schedule_of,
)
from buildlog.core.work.stages import STAGES

FINISH_CUTS = range(5, 100, 5)


def beside(seen: Forecast, ticks: Iterable[DaysTicks], jobs_done: Iterable[tuple[str, float]]) -> dict[str, Any]:
    """Keys to keep with ``seen.as_json()``. Moments are ISO 8601 in the build's own zone.

    ``done``: [moment, share of the work] by day. ``fan``: moments, the share done by then at each of ``CUTS``, and the
    person-hours promised from now to then. ``odds``: when it is ready, so sure. ``plain``: person-hours left by two
    plain estimates. ``waits``: person-hours that helpers stand by for want of room, open work or hand load.
    ``earned``: amounts in standard person-hours, and the plan they are held against.
    """
    budget = Budget(seen.inputs)
    return {
        "done": _points(done_by_day(budget, ticks, jobs_done), seen.inputs.time_zone),
        "fan": _fan(seen, budget),
        "odds": {str(cut): _moment(seen, seen.finish_at(cut)) for cut in FINISH_CUTS},
        "plain": _plain(seen, budget),
        "waits": _waits(seen),
        "earned": _earned(seen, budget),
    }


def _fan(seen: Forecast, budget: Budget) -> dict[str, Any] | None:
    fan = fan_of(seen, budget)
    if fan is None:
        return None
    hours = promised(seen.inputs, fan.at, seen.inputs.as_of)
    return {
        "at": [iso(float(moment), seen.inputs.time_zone) for moment in fan.at],
        "shares": {str(cut): _tidy(shares) for cut, shares in zip(CUTS, fan.shares, strict=True)},
        "promised": _tidy(hours),
    }


def _plain(seen: Forecast, budget: Budget) -> dict[str, Any]:
    """Jobs at their means, in both: neither of the two knows anything of them."""
    said = plain_estimates(seen.inputs, seen.learned.observations)
    jobs = budget.jobs_left
    overall = None if said.overall is None else round(said.overall + jobs, 4)
    return {"by_stage": round(said.by_stage + jobs, 4), "overall": overall}


def _waits(seen: Forecast) -> dict[str, float]:
    """Means over the trials: for room at each stage, for work to open, at the limit of populate hours."""
    names = (*(stage.value for stage in STAGES), "open", "limit")
    return {name: round(float(hours), 4) for name, hours in zip(names, seen.waits.mean(axis=0), strict=True)}


def _earned(seen: Forecast, budget: Budget) -> dict[str, Any] | None:
    earned = earned_of(budget, seen.learned.observations)
    if earned is None:
        return None
    amounts = {name: round(getattr(earned, name), 4) for name in ("budget", "planned", "earned", "spent")}
    found = schedule_of(budget)
    if found is None:
        return amounts | {"schedule": None}
    first, schedule = found
    return amounts | {
        "schedule": {
            "from": _moment(seen, first),
            "plan": [[day, round(hours, 4)] for day, hours in schedule.plan],
            "now": round(schedule.now, 4),
        }
    }


def _points(curve: Curve, zone: str) -> list[list[Any]]:
    return [[iso(moment, zone), round(share, 4)] for moment, share in curve]


def _moment(seen: Forecast, moment: float | None) -> str | None:
    return None if moment is None else iso(moment, seen.inputs.time_zone)


def _tidy(values: Iterable[float]) -> list[float]:
    return [round(float(value), 4) for value in values]
