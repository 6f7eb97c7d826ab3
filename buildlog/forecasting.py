"""Forecasts kept up to date: computed when something they follow from has changed, by one process at a time.

The screen only shows what is kept. `tend` (started by `serve`) and the button on the screen call ``refresh``.
"""

from __future__ import annotations

import hashlib
import json
import time
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property

from buildlog.actions import forecasts
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.track_record import Score, record_of, target_score
from buildlog.models import Build, SavedForecast
from buildlog.queries.forecast_input import input_of
from buildlog.queries.progress import days_worked, jobs_done, ticks_by_day

TRIALS, SEED = 2000, 1
MOST_DAYS = 120  # of kept forecasts that are looked at together


@dataclass(frozen=True)
class Shown:
    """The newest forecast, and those of earlier days, the newest last, with how they did."""

    newest: SavedForecast
    days: tuple[ForecastDocument, ...]

    @property
    def document(self) -> ForecastDocument:
        return self.days[-1]

    @cached_property
    def scores(self) -> tuple[Score, ...]:
        return record_of(self.days)

    @cached_property
    def target_score(self) -> tuple[int, float] | None:
        return target_score(self.days)


def shown(build: Build) -> Shown | None:
    """What the Forecast screen shows, in one query; None before the first forecast."""
    rows = list(build.forecasts.newest_first()[:MOST_DAYS])
    return Shown(rows[0], tuple(row.document for row in reversed(rows))) if rows else None


def follows_from(inputs: ForecastInput) -> str:
    """A digest of all that a forecast is made from. The moment counts by the hour: time alone changes it slowly."""
    plain = asdict(replace(inputs, as_of=float(int(inputs.as_of))))
    return hashlib.sha256(json.dumps(plain, default=sorted, sort_keys=True).encode()).hexdigest()


def stale(build: Build, now: datetime) -> bool:
    """Has something changed since the kept forecast was made?"""
    newest = build.forecasts.newest_first().first()
    return newest is None or newest.follows_from != follows_from(input_of(build, now))


def refresh(build: Build, now: datetime) -> SavedForecast | None:
    """Compute and keep the forecast when it is stale; None when it is fresh, or being computed by another."""
    inputs = input_of(build, now)
    digest = follows_from(inputs)
    newest = build.forecasts.newest_first().first()
    if newest is not None and newest.follows_from == digest:
        return None
    forecasts.drop_later(build=build, than=now.astimezone(build.zone).date())
    return _compute(build, inputs, digest, as_of=now, now=now)


def look_back(build: Build, now: datetime) -> SavedForecast | None:
    """The forecast of the latest working day that has none, made afterwards with what was on file that evening.

    So there is a record of forecasts also for a build whose first weeks were loaded from a table. None when no day
    lacks one. Past shifts count as they stand now: what was promised then and taken back since is not on file.
    """
    saved = set(build.forecasts.values_list("day", flat=True))
    days = {day for day in days_worked(build, now) if day not in saved}
    if not days:
        return None
    evening = datetime.combine(max(days) + timedelta(days=1), datetime.min.time(), build.zone) - timedelta(minutes=1)
    inputs = input_of(build, evening)
    return _compute(build, inputs, follows_from(inputs), as_of=evening, now=now)


def _compute(
    build: Build, inputs: ForecastInput, digest: str, *, as_of: datetime, now: datetime
) -> SavedForecast | None:
    with forecasts.claimed(build, now) as mine:
        if not mine:
            return None
        from buildlog.core.forecast.result.forecast import forecast
        from buildlog.core.forecast.result.saved import document_to_save  # numba comes along: no page waits for it

        begun = time.perf_counter()
        seen = forecast(inputs, trials=TRIALS, seed=SEED)
        document = document_to_save(seen, ticks_by_day(build, as_of), jobs_done(build, as_of))
        took = time.perf_counter() - begun
        return forecasts.save(build=build, document=document, as_of=as_of, follows_from=digest, took_s=took)
