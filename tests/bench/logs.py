"""Two logs as a lead keeps them, held back and met again: what was forecast of the work that came later.

tests/data/north-yard and south-hall; planned with segments of at most 100 pixels and channels of 500, no ribs. The
logs end before the builds do, so the finish stays unknown; the person-hours of the work done meanwhile do not.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from buildlog.core.forecast.input import (
    ForecastInput,
    Helper,
    SegmentInput,
    ShiftInput,
    StintInput,
    hours_of,
    moment_of,
)
from buildlog.core.forecast.learn.observations import Effort, observations_of
from buildlog.core.forecast.learn.rates import PRACTICE_UNIT, SMALL_UNITS
from buildlog.core.forecast.result.fan import CUTS, fan_of
from buildlog.core.forecast.result.forecast import Forecast, forecast
from buildlog.core.forecast.result.standard_hours import Budget
from buildlog.core.work.stages import STAGES
from tests.bench.builds import chain

DATA = Path(__file__).parents[1] / "data"
ZONE = ZoneInfo("Europe/Lisbon")
NAMES = ("north-yard", "south-hall")


@dataclass(frozen=True)
class Logged:
    """A build of which the log is known up to some evening."""

    name: str

    def _rows(self, kind: str) -> list[dict[str, str]]:
        with (DATA / self.name / f"{kind}.csv").open(newline="", encoding="utf-8-sig") as file:
            return list(csv.DictReader(file))

    @cached_property
    def helpers(self) -> tuple[Helper, ...]:
        shifts: dict[str, list[ShiftInput]] = {}
        for row in self._rows("availability"):
            start, end = (_moment(f"{row['date']} {row[key]}") for key in ("start", "end"))
            day = datetime.fromisoformat(row["date"]).toordinal()
            shifts.setdefault(row["name"], []).append(ShiftInput(start, end, day))
        return tuple(
            Helper(row["name"], frozenset(row["skills"].split(";")), 3.0, tuple(shifts.get(row["name"], ())))
            for row in self._rows("crew")
        )

    @cached_property
    def stints(self) -> tuple[StintInput, ...]:
        place = {helper.name: number for number, helper in enumerate(self.helpers)}
        return tuple(
            StintInput(
                row["stage"], tuple(place[name] for name in row["name"].split(";")), _moment(row["start"]),
                _moment(row["end"]), int(row["pixels"]), row["segment"], float(row["break_min"]) / 60,
            )
            for row in self._rows("stints")
        )  # fmt: skip

    @cached_property
    def segments(self) -> tuple[SegmentInput, ...]:
        codes, pixels, rings = [], [], []
        for row in self._rows("rings"):
            ring, count = int(row["ring"]), int(row["pixels"])
            segments = math.ceil(count / 100)
            for segment in range(segments):
                codes.append(f"R{ring}-{segment + 1}")
                pixels.append(count // segments + (segment < count % segments))
                rings.append(ring)
        runs = chain(pixels, 500)
        return tuple(
            SegmentInput(*one[:2], runs=one[2], ring=one[3]) for one in zip(codes, pixels, runs, rings, strict=True)
        )

    @property
    def evenings(self) -> tuple[float, ...]:
        """22:00 of each day of the log, the last one too."""
        days = sorted({moment_of(stint.start).astimezone(ZONE).date() for stint in self.stints})
        return tuple(_moment(f"{day} 22:00") for day in days)

    def as_of(self, moment: float) -> ForecastInput:
        stints = tuple(stint for stint in self.stints if stint.start < moment)
        done: dict[str, list[int]] = {}
        for stint in stints:
            done.setdefault(stint.segment, [0] * 4)[[stage.value for stage in STAGES].index(stint.work)] += stint.pixels
        segments = tuple(
            replace(segment, done=tuple(min(segment.pixels, got) for got in done.get(segment.code, (0,) * 4)))
            for segment in self.segments
        )
        return ForecastInput(moment, segments, self.helpers, stints, build=self.name, time_zone=str(ZONE))


def _moment(text: str) -> float:
    return hours_of(datetime.fromisoformat(text).replace(tzinfo=ZONE))


@dataclass(frozen=True)
class Met:
    """What was said one evening of the work done from then to the end of the log, and what it took."""

    name: str
    evening: datetime
    hours: float
    low: float
    likely: float
    high: float
    by_stage: float
    work: float  # share of the whole work done at the end of the log, and what the fan had said of it
    work_low: float
    work_likely: float
    work_high: float


def met(build: Logged, trials: int = 1000) -> Iterator[Met]:
    """Every evening of the log but the last."""
    last = build.evenings[-1]
    whole = build.as_of(last)
    for evening in build.evenings[:-1]:
        seen = forecast(build.as_of(evening), trials=trials, seed=1)
        later = [effort for effort in observations_of(whole).efforts if effort.start > evening]
        said = said_of(seen, later)
        fan = fan_of(seen, Budget(seen.inputs))
        assert fan is not None
        night = int(np.searchsorted(fan.at[:-1], last))  # nobody works between that evening and midnight
        low, likely, high = (float(fan.shares[CUTS.index(cut), night]) for cut in (10, 50, 90))
        yield Met(
            build.name, moment_of(evening).astimezone(ZONE),
            sum(effort.hours if effort.clipped is None else effort.clipped for effort in later),
            *(float(cut) for cut in np.percentile(said, [10, 50, 90])), plainly(seen, later),
            Budget(whole).done / Budget(whole).total, low, likely, high,
        )  # fmt: skip


def said_of(seen: Forecast, later: list[Effort]) -> np.ndarray:
    """Trials: the person-hours that work should take, told who did it."""
    rng = np.random.default_rng(7)
    total = np.zeros(seen.trials)
    for effort in later:
        stage = effort.stage
        drawn = seen.draws.stages[:, stage]
        curve, growth, tiring, sigma, omega = (drawn[name] for name in drawn.dtype.names)
        practice = np.mean([math.log1p(before / PRACTICE_UNIT[stage]) for before in effort.practice])
        log = seen.draws.effort[:, list(effort.helpers), stage].mean(axis=1) + curve * practice
        log = log + growth * effort.size + tiring * effort.worked
        spread = np.sqrt(sigma**2 * (1 + SMALL_UNITS[stage] / effort.units) + omega**2)
        total += effort.units * np.exp(log + spread * rng.standard_normal(seen.trials))
    return total


def plainly(seen: Forecast, later: list[Effort]) -> float:
    """The same by the rate measured at each stage so far, the standard rate where nothing is measured."""
    total = 0.0
    for effort in later:
        word = STAGES[effort.stage].value
        spent = sum(stint.person_hours for stint in seen.inputs.stints if stint.work == word and stint.pixels)
        done = float(seen.learned.observations.practice[:, effort.stage].sum())
        total += effort.units / (done / spent if done and spent else seen.inputs.standard.rate(effort.stage))
    return total
