"""What was kept of a forecast besides its document, read back: the fan, the odds of the finish, the earned value.

Forecasts kept by an earlier release lack some of it: then there is None, or nothing, in its place.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from buildlog.core.forecast.result.earned_value import Earned, EarnedSchedule

Point = tuple[datetime, float]


@dataclass(frozen=True)
class Fan:
    """The share of the work that is done by each moment; ``shares`` by percent of trials that stay at or below it."""

    at: tuple[datetime, ...]
    shares: Mapping[int, tuple[float, ...]]
    promised: tuple[float, ...]  # person-hours of shifts from the first moment to each

    def by(self, moment: datetime) -> dict[int, float]:
        """The shares at a moment, between points in proportion to time; at the ends, the ends."""
        return {percent: _between(self.at, shares, moment) for percent, shares in self.shares.items()}

    def promised_by(self, moment: datetime) -> float:
        return _between(self.at, self.promised, moment)


@dataclass(frozen=True)
class Schedule:
    """Earned schedule, and the moment from which its days count."""

    begin: datetime
    days: EarnedSchedule

    @property
    def planned_end(self) -> datetime:
        return self.begin + timedelta(days=self.days.duration)

    @property
    def likely_end(self) -> datetime | None:
        """Where the planned duration ÷ SPI(t) ends."""
        days = self.days.duration_at_completion
        return None if days is None else self.begin + timedelta(days=days)


@dataclass(frozen=True)
class Kept:
    """A kept forecast: its document and what was kept beside it."""

    said: Mapping[str, Any]

    @property
    def as_of(self) -> datetime:
        return datetime.fromisoformat(self.said["as_of"])

    @property
    def target(self) -> datetime | None:
        target = self.said.get("target")
        return datetime.fromisoformat(target["date"]) if target else None

    @property
    def target_chance(self) -> float | None:
        target = self.said.get("target")
        return float(target["probability"]) if target else None

    @cached_property
    def done(self) -> tuple[Point, ...]:
        """(moment, share of the work done) day by day up to now."""
        return tuple((datetime.fromisoformat(at), float(share)) for at, share in self.said.get("done") or ())

    @property
    def share_done(self) -> float:
        return self.done[-1][1] if self.done else 0.0

    @cached_property
    def fan(self) -> Fan | None:
        fan = self.said.get("fan")
        if not fan:
            return None
        shares = {int(percent): tuple(values) for percent, values in fan["shares"].items()}
        return Fan(tuple(datetime.fromisoformat(at) for at in fan["at"]), shares, tuple(fan["promised"]))

    @cached_property
    def odds(self) -> tuple[tuple[int, datetime], ...]:
        """(percent sure, ready by), as far as the shifts noted reach."""
        odds = self.said.get("odds") or {}
        return tuple((int(percent), datetime.fromisoformat(at)) for percent, at in odds.items() if at)

    @property
    def ready_at(self) -> datetime | None:
        """When everything was done, once it is."""
        done = [moment for moment, share in self.done if share >= 1 - 1e-6]
        return done[0] if done and self.share_done >= 1 - 1e-6 else None

    @property
    def plain(self) -> Mapping[str, float | None]:
        """Person-hours left by the plain estimates ``by_stage`` and ``overall``."""
        return self.said.get("plain") or {}

    @cached_property
    def earned(self) -> Earned | None:
        said = self.said.get("earned")
        return Earned(*(said[name] for name in ("budget", "planned", "earned", "spent"))) if said else None

    @cached_property
    def schedule(self) -> Schedule | None:
        said = self.said.get("earned") or {}
        found = said.get("schedule")
        if not found:
            return None
        plan = tuple((day, hours) for day, hours in found["plan"])
        return Schedule(datetime.fromisoformat(found["from"]), EarnedSchedule(plan, said["earned"], found["now"]))


def _between(at: Sequence[datetime], values: Sequence[float], moment: datetime) -> float:
    if moment <= at[0]:
        return values[0]
    if moment >= at[-1]:
        return values[-1]
    after = bisect_right(at, moment)
    share = (moment - at[after - 1]) / (at[after] - at[after - 1])
    return values[after - 1] + share * (values[after] - values[after - 1])
