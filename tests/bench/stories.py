"""A build whose whole story is known, and what of it is on file by some evening."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass, field

import numpy as np

from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, StintInput
from buildlog.core.work.stages import STAGES
from tests.bench.families import Family

SATURDAY = 493_800.0  # 2026-05-02 00:00 UTC
DAY = 24.0


def ordinal(moment: float) -> int:
    """The day of a moment, as ``date.toordinal()``."""
    return int(moment // DAY) + 719_163


@dataclass(frozen=True)
class Truth:
    """What is so in one story and nobody in it knows."""

    effort: np.ndarray  # helpers × stages, person-hours per unit when fresh and new
    practice: np.ndarray  # helpers × stages, exponent
    practice_unit: np.ndarray  # stages
    noise: np.ndarray  # stages
    tired: np.ndarray  # helpers, share slower per hour of work in a day
    comes: np.ndarray  # helpers
    hardness: np.ndarray  # segments
    leaves: dict[int, int]  # helper → day of the story on which they stop coming
    bad_days: float
    fails: float
    mend_h: float
    forgets: float
    gap_h: float
    late_h: float
    keep: bool
    in_order: bool
    drift: float


@dataclass
class Fault:
    """A failed test, written down as it is found."""

    segment: int
    found: float
    mended: float = math.inf


@dataclass
class Story:
    """One build: what is known beforehand, the truth, and everything that happened."""

    number: int
    family: Family
    pixels: list[int]
    runs: list[tuple[RunInput, ...]]
    helpers: list[Helper]
    truth: Truth
    stints: list[StintInput] = field(default_factory=list)  # as logged
    real: list[tuple[float, float, int]] = field(default_factory=list)  # (end, hours, stage or 5 = rework) as they were
    faults: list[Fault] = field(default_factory=list)
    finish: float = math.inf

    @property
    def hours(self) -> float:
        return sum(hours for _, hours, _ in self.real)

    def evening_at(self, share: float) -> float:
        """22:00 of the day on which so much of all hours had been spent."""
        spent, target = 0.0, share * self.hours
        for end, hours, _ in sorted(self.real):
            spent += hours
            if spent >= target:
                return math.floor(end / DAY) * DAY + 22.0
        return math.inf

    def hours_after(self, moment: float) -> float:
        return sum(hours for end, hours, _ in self.real if end > moment)

    def as_of(self, moment: float) -> ForecastInput:
        """What is on file at a moment."""
        stints = tuple(stint for stint in self.stints if stint.end <= moment)
        done: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
        for stint in stints:
            done[stint.segment][[stage.value for stage in STAGES].index(stint.work)] += stint.pixels
        found = [fault for fault in self.faults if fault.found <= moment]
        still = Counter(fault.segment for fault in found if fault.mended > moment)
        segments = tuple(
            SegmentInput(
                f"S{number}", count, tuple(min(count, got) for got in done[f"S{number}"]), self.runs[number],
                open_faults=still[number],
            )
            for number, count in enumerate(self.pixels)
        )  # fmt: skip
        return ForecastInput(
            moment, segments, tuple(self.helpers), stints, people=self.family.people, build=f"story {self.number}",
            faults_found=len(found),
        )  # fmt: skip
