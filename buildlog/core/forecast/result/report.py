"""A kept forecast read back for people: rows with words, numbers and moments instead of keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from buildlog.core.work.stages import STAGES

SURE = (10, 50, 80, 90)
WORK = (*STAGES, "jobs", "rework")
PACE_UNITS = {"pixel": "pixels", "run": "runs"}
REASONS = {
    "populate": "populating",
    "mount": "mounting",
    "wire": "wiring",
    "test": "testing",
    "jobs": "a job",
    "rework": "rework",
}

IDLE = {"open": "work that is not open yet", "limit": "the next day, populate hours being used up"}


@dataclass(frozen=True)
class Left:
    """Person-hours of one kind of work: logged so far and left, with how sure."""

    work: str
    logged: float
    likely: float
    low: float
    high: float


@dataclass(frozen=True)
class RateSpread:
    """What a person-hour gives: 50 %, and between 10 and 90 %; how many stints say so."""

    likely: float
    low: float
    high: float
    stints: int | None = None

    @property
    def digits(self) -> int:
        """Decimals worth showing."""
        return 0 if self.likely >= 100 else 1


@dataclass(frozen=True)
class Report:
    """The document of a forecast, as kept."""

    said: Mapping[str, Any]

    @property
    def sentence(self) -> str:
        return str(self.said["sentence"])

    @property
    def warnings(self) -> tuple[str, ...]:
        return tuple(self.said["warnings"])

    @property
    def finish(self) -> tuple[tuple[int, datetime | None], ...]:
        """(percent sure, ready by); None where so many trials do not end within the known availability."""
        return tuple((sure, _moment(self.said["finish"][f"p{sure}"])) for sure in SURE)

    @property
    def all_done(self) -> bool:
        """Is there nothing left to forecast?"""
        return not self.said["finish"]["never"] and not self.said["labour_hours_left"]["total"]["p90"]

    @property
    def never_percent(self) -> int:
        return round(100 * float(self.said["finish"]["never"]))

    @property
    def target(self) -> tuple[datetime, int] | None:
        """(target, percent sure to be ready by then)."""
        target = self.said["target"]
        if not target:
            return None
        return datetime.fromisoformat(target["date"]), round(100 * float(target["probability"]))

    @cached_property
    def left(self) -> tuple[Left, ...]:
        """By kind of work; kinds that neither were nor will be are left out."""
        rows = (self._left(work) for work in WORK)
        return tuple(row for row in rows if row.logged or row.high)

    @property
    def total(self) -> Left:
        return self._left("total")

    def _left(self, work: str) -> Left:
        spread = self.said["labour_hours_left"][work]
        logged = float(self.said["hours_logged"].get(work, 0.0))
        return Left(work, logged, spread["p50"], spread["p10"], spread["p90"])

    @cached_property
    def paces(self) -> tuple[tuple[str, tuple[RateSpread | None, ...]], ...]:
        """(who, their pace at each stage): the crew first, then every helper; None where somebody lacks the skill."""
        rates = self.said["rates"]
        names = sorted({name for stage in STAGES for name in rates[stage]["helpers"]})
        crew = tuple(_pace(rates[stage]["crew"]) for stage in STAGES)
        helpers = ((name, tuple(_pace(rates[stage]["helpers"].get(name)) for stage in STAGES)) for name in names)
        return (("The crew", crew), *helpers)

    @property
    def units(self) -> tuple[tuple[str, str], ...]:
        """(stage, what its rate counts)."""
        return tuple((stage, PACE_UNITS[self.said["rates"][stage]["per"]]) for stage in STAGES)

    @property
    def waits_for(self) -> str:
        """What the finish waits for most often, as a sentence; "" when nothing stands out."""
        limits = self.said["limits"]
        if not limits:
            return ""
        first = limits[0]
        percent = round(100 * float(first["share"]))
        return f"The finish waits for {REASONS.get(first['stage'], first['stage'])} in {percent} of 100 trials."

    @property
    def limits(self) -> tuple[tuple[str, int], ...]:
        """(what the finish waits for, in how many of 100 trials), most often first; what rounds to none is left out."""
        found = [
            (REASONS.get(row["stage"], row["stage"]), round(100 * float(row["share"]))) for row in self.said["limits"]
        ]
        return tuple((what, percent) for what, percent in found if percent)

    @property
    def idle(self) -> tuple[tuple[str, float], ...]:
        """(what helpers stand by for, person-hours on average), longest first; under half an hour is left out."""
        waits = self.said.get("waits") or {}
        found = [(IDLE.get(name, f"room at {name}"), float(hours)) for name, hours in waits.items() if hours >= 0.5]
        return tuple(sorted(found, key=lambda row: -row[1]))

    @property
    def passed(self) -> tuple[tuple[str, int, float], ...]:
        """(stage, pixels that have passed it, share of all)."""
        pixels = self.said["pixels"]
        whole = max(1, int(pixels["total"]))
        return tuple((stage, int(pixels[stage]), pixels[stage] / whole) for stage in STAGES)


def _pace(cuts: Mapping[str, Any] | None) -> RateSpread | None:
    return RateSpread(cuts["p50"], cuts["p10"], cuts["p90"], cuts.get("stints")) if cuts else None


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
