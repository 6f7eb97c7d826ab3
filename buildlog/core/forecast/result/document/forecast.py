"""The document of a forecast: what is printed of it, and what is saved besides for drawings and the track record.

Hours are person-hours. Forecasts saved by an earlier release lack some of it: then there is None, or nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import Annotated

from msgspec import Meta, Struct, field

from buildlog.core.forecast.result.document.coding import Fact, Moment
from buildlog.core.forecast.result.earned_value import Earned, EarnedSchedule
from buildlog.core.work.stages import STAGES

SURE = (10, 50, 80, 90)
WORK = (*(stage.value for stage in STAGES), "jobs", "rework")
PACE_UNITS = {"pixel": "pixels", "run": "runs"}
IDLE_LEAST = 0.5  # person-hours of standing by that are worth a line

Share = Annotated[float, Meta(ge=0, le=1)]
Point = tuple[Moment, float]


class Finish(Struct, frozen=True):
    """Ready by, so sure; None where too few trials end within the known availability.

    ``never``: the share of trials that do not.
    """

    p10: Moment | None
    p50: Moment | None
    p80: Moment | None
    p90: Moment | None
    p95: Moment | None
    never: Share

    def at(self, sure: int) -> Moment | None:
        ready: Moment | None = getattr(self, f"p{sure}")
        return ready


class HoursSpread(Struct, frozen=True):
    """Person-hours left over the trials."""

    mean: float
    p10: float
    p50: float
    p80: float
    p90: float


class RateSpread(Struct, frozen=True, omit_defaults=True):
    """What a person-hour gives; how many stints say so (None: of the whole crew)."""

    p10: float
    p50: float
    p90: float
    stints: int | None = None

    @property
    def digits(self) -> int:
        """Decimals worth showing."""
        return 0 if self.p50 >= 100 else 1


class StageRates(Struct, frozen=True):
    """Units per person-hour at a stage, of the crew and of each helper who can do it."""

    per: str
    crew: RateSpread
    helpers: dict[str, RateSpread]


class Target(Struct, frozen=True):
    """By when it has to be ready, and the chance of that."""

    date: Moment
    probability: Share

    @property
    def percent(self) -> int:
        return round(100 * self.probability)


class WaitsFor(Struct, frozen=True):
    """What the finish waits for (a stage, "jobs" or "rework"), in which share of the trials."""

    stage: str
    share: Share


class Fan(Struct, frozen=True):
    """The share of the work that is done by each moment; ``shares`` by percent of trials that stay at or below it.

    ``promised``: person-hours of shifts from the first moment to each.
    """

    at: tuple[Moment, ...]
    shares: dict[int, tuple[float, ...]]
    promised: tuple[float, ...]

    def by(self, moment: datetime) -> dict[int, float]:
        """The shares at a moment, between points in proportion to time; at the ends, the ends."""
        return {percent: _between(self.at, shares, moment) for percent, shares in self.shares.items()}

    def promised_by(self, moment: datetime) -> float:
        return _between(self.at, self.promised, moment)


class PlainEstimates(Struct, frozen=True):
    """Person-hours left by two plain estimates."""

    by_stage: float | None = None
    overall: float | None = None


class Schedule(Struct, frozen=True, kw_only=True):
    """What earned schedule is made of: the plan in days since ``start``, and the days gone."""

    start: Moment = field(name="from")
    plan: tuple[tuple[float, float], ...]
    now: float


class EarnedRecord(Struct, frozen=True):
    """Amounts in standard person-hours, and the plan that they are held against."""

    budget: float
    planned: float
    earned: float
    spent: float
    schedule: Schedule | None = None

    @property
    def value(self) -> Earned:
        return Earned(self.budget, self.planned, self.earned, self.spent)

    @property
    def days(self) -> EarnedSchedule | None:
        if self.schedule is None:
            return None
        return EarnedSchedule(self.schedule.plan, self.earned, self.schedule.now)

    @property
    def planned_end(self) -> datetime | None:
        return self._after(self.days.duration if self.days else None)

    @property
    def likely_end(self) -> datetime | None:
        """Where the planned duration ÷ SPI(t) ends."""
        return self._after(self.days.duration_at_completion if self.days else None)

    def _after(self, days: float | None) -> datetime | None:
        return None if days is None or self.schedule is None else self.schedule.start + timedelta(days=days)


class LabourHours(Struct, frozen=True):
    """Person-hours of one kind of work: logged so far, and left with how sure."""

    work: str
    logged: float
    left: HoursSpread


class KeyFigures(Struct, frozen=True, kw_only=True):
    """What two forecasts are compared by."""

    as_of: Moment
    finish: Finish
    target: Target | None
    labour_hours_left: dict[str, HoursSpread]
    hours_logged: dict[str, float]


class ForecastDocument(Struct, frozen=True, kw_only=True, dict=True, omit_defaults=True):
    """All that a forecast says. What has a default is saved and not printed.

    ``done``: (moment, share of the work done) day by day up to now. ``odds``: percent sure → ready by, as far as the
    shifts noted reach. ``waits``: person-hours that helpers stand by for want of room at a stage, open work ("open") or
    hours of populating ("limit").
    """

    build: str
    as_of: Moment
    trials: Annotated[int, Meta(ge=1)]
    seed: int
    plan_revision: int
    ledger_entries: int
    pixels: dict[str, Annotated[int, Meta(ge=0)]]
    hours_logged: dict[str, float]
    finish: Finish
    labour_hours_left: dict[str, HoursSpread]
    rates: dict[str, StageRates]
    target: Target | None
    limits: tuple[WaitsFor, ...]
    missing_hours: float
    sentence: Fact
    warnings: tuple[Fact, ...]
    done: tuple[Point, ...] | None = None
    fan: Fan | None = None
    odds: dict[int, Moment | None] = {}
    plain: PlainEstimates | None = None
    waits: dict[str, float] = {}
    earned: EarnedRecord | None = None

    @property
    def key_figures(self) -> KeyFigures:
        return KeyFigures(
            as_of=self.as_of, finish=self.finish, target=self.target, labour_hours_left=self.labour_hours_left,
            hours_logged=self.hours_logged,
        )  # fmt: skip

    @property
    def finishes(self) -> tuple[tuple[int, Moment | None], ...]:
        """(percent sure, ready by)."""
        return tuple((sure, self.finish.at(sure)) for sure in SURE)

    @property
    def ready(self) -> dict[int, Moment]:
        """Percent sure → ready by, where that is known, rising: packs hold the percents as texts, in another order."""
        return {percent: moment for percent, moment in sorted(self.odds.items()) if moment}

    @property
    def all_done(self) -> bool:
        """Is there nothing left to forecast?"""
        return not self.finish.never and not self.labour_hours_left["total"].p90

    @property
    def never_percent(self) -> int:
        return round(100 * self.finish.never)

    @property
    def history(self) -> tuple[Point, ...]:
        return self.done or ()

    @property
    def share_done(self) -> float:
        return self.history[-1][1] if self.history else 0.0

    @property
    def ready_at(self) -> datetime | None:
        """When everything was done, once it is."""
        ends = [moment for moment, share in self.history if share >= 1 - 1e-6]
        return ends[0] if ends and self.share_done >= 1 - 1e-6 else None

    @cached_property
    def left(self) -> tuple[LabourHours, ...]:
        """By kind of work; kinds that neither were nor will be are left out."""
        rows = (self._hours(work) for work in WORK)
        return tuple(row for row in rows if row.logged or row.left.p90)

    @property
    def total(self) -> LabourHours:
        return self._hours("total")

    def _hours(self, work: str) -> LabourHours:
        return LabourHours(work, self.hours_logged.get(work, 0.0), self.labour_hours_left[work])

    @cached_property
    def paces(self) -> tuple[tuple[str, tuple[RateSpread | None, ...]], ...]:
        """(who, their rate at each stage): the crew first, then every helper; None where somebody lacks the skill."""
        rates = [self.rates[stage.value] for stage in STAGES]
        names = sorted({name for stage in rates for name in stage.helpers})
        helpers = ((name, tuple(stage.helpers.get(name) for stage in rates)) for name in names)
        return (("The crew", tuple(stage.crew for stage in rates)), *helpers)

    @property
    def units(self) -> tuple[tuple[str, str], ...]:
        """(stage, what its rate counts)."""
        return tuple((stage, PACE_UNITS[self.rates[stage.value].per]) for stage in STAGES)

    @property
    def idle(self) -> tuple[tuple[str, float], ...]:
        """(what helpers stand by for, person-hours on average), longest first; under half an hour is left out."""
        rows = [(name, hours) for name, hours in self.waits.items() if hours >= IDLE_LEAST]
        return tuple(sorted(rows, key=lambda row: -row[1]))

    @property
    def passed(self) -> tuple[tuple[str, int, float], ...]:
        """(stage, pixels that have passed it, share of all)."""
        whole = max(1, self.pixels["total"])
        return tuple((stage, self.pixels[stage.value], self.pixels[stage.value] / whole) for stage in STAGES)


def _between(at: Sequence[datetime], values: Sequence[float], moment: datetime) -> float:
    if moment <= at[0]:
        return values[0]
    if moment >= at[-1]:
        return values[-1]
    after = bisect_right(at, moment)
    share = (moment - at[after - 1]) / (at[after] - at[after - 1])
    return values[after - 1] + share * (values[after] - values[after - 1])
