"""What the SimPy model of a crew is given: what is drawn once a trial, its chance, its tasks and its helpers."""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass, field

import numpy as np
import simpy

from buildlog.core.forecast.input import SegmentInput, ShiftInput
from buildlog.core.forecast.learn.rates import SMALL_UNITS
from buildlog.core.forecast.simulate import random_numbers
from buildlog.core.forecast.simulate.state import Draws

POPULATE, MOUNT, WIRE, TEST, JOB, MEND = range(6)
WORDS = ("populate", "mount", "wire", "test")
USUAL, CLOSING = (POPULATE, MOUNT, WIRE, TEST), (POPULATE, WIRE, MOUNT, TEST)
MOMENT = 1e-9
DONE = 1e-6  # units that are nothing any more


class Drawn:
    """What is drawn once a trial, given to both models; and chance for all the rest: of this model's own, or the very
    numbers that the compiled trials meet (``same``), so that the two can be held together trial by trial."""

    def __init__(self, draws: Draws, trial: int, rng: np.random.Generator, same: bool = False) -> None:
        self._rng, self._key = rng, int(draws.key[trial]) if same else None
        self.effort = draws.effort[trial].tolist()  # helpers × stages: log of person-hours per unit, before practice
        stages, once = draws.stages[trial], draws.once[trial]
        self.curve, self.growth, self.tiring = (stages[field].tolist() for field in ("curve", "growth", "fatigue"))
        self.noise, self.form = stages["sigma"].tolist(), stages["omega"].tolist()
        self.comes, self.stays = draws.attendance[trial].tolist(), draws.days_left[trial].tolist()
        self.fails, self.mend_centre, self.mend_spread = (
            float(once[field]) for field in ("failure_rate", "mend_centre", "mend_spread")
        )
        self.keep, self.in_order = bool(once["keeps"]), bool(once["in_order"])
        self.pause, self.day_part = float(once["pause"]), float(once["shared_part"])
        self.job_hours = draws.job_hours[trial].tolist()
        self._days: dict[int, float] = {}

    def _normal(self, purpose: int, number: int) -> float:
        if self._key is None:
            return float(self._rng.standard_normal())
        return float(random_numbers.normal(self._key, purpose, number))

    def hard(self, segment: SegmentInput, stage: int, usual: float) -> float:
        """How much more effort a segment takes than usual: for its size, and by chance."""
        spread = self.noise[stage] * math.sqrt(1 + SMALL_UNITS[stage] / segment.left(stage))
        by_chance = spread * self._normal(random_numbers.SEGMENT_NOISE, 4 * _number(segment) + stage)
        return math.exp(self.growth[stage] * segment.size(stage, usual) + by_chance)

    def well(self, helper: int, day: int) -> float:
        """How a helper is on a day."""
        return self._normal(random_numbers.DAY_EFFECT, day * 4096 + helper)

    def on_day(self, helper: int, day: int) -> bool:
        """Does a helper come on a day? Partly their own doing, partly the day's, which is the same for everybody."""
        if day not in self._days:
            self._days[day] = self._normal(random_numbers.SHARED_ATTENDANCE, day)
        own = math.sqrt(1 - self.day_part) * self._normal(random_numbers.ATTENDANCE, day * 4096 + helper)
        return own + math.sqrt(self.day_part) * self._days[day] < self.comes[helper]

    def failed(self, segment: SegmentInput) -> bool:
        if self._key is None:
            return bool(self._rng.random() < self.fails)
        return bool(random_numbers.uniform(self._key, random_numbers.TEST_FAILURE, _number(segment)) < self.fails)

    def mending(self, segment: SegmentInput) -> float:
        """Hours that the mending of a failed test takes."""
        return self._mending(_number(segment))

    def old_mending(self, number: int) -> float:
        """Hours that a fault takes that is open from the start; the last one taken has number 1."""
        return self._mending(-number)

    def _mending(self, number: int) -> float:
        return math.exp(self.mend_centre + self.mend_spread * self._normal(random_numbers.REWORK, number))


def _number(segment: SegmentInput) -> int:
    return zlib.crc32(segment.code.encode())


@dataclass(eq=False)
class Task:
    """A segment at a stage, a job, or a fault to mend: what is left of it, and who is at it."""

    kind: int
    number: int
    left: float  # units of a segment, person-hours of the others
    hands: int = 1
    whose: int | None = None
    hard: float = 1.0
    begun: bool = False
    team: list[Helper] = field(default_factory=list)


@dataclass(eq=False)
class Helper:
    """Somebody of the crew, and how they stand at the moment."""

    number: int
    skills: frozenset[str]
    limit: float
    shifts: list[ShiftInput]
    practice: list[float] = field(default_factory=lambda: [0.0] * 4)
    today: int = -1
    well: float = 0.0
    worked: float = 0.0
    populated: float = 0.0
    until: float = -math.inf  # the end of the shift
    since: float = 0.0  # when they became free
    paused: bool = True  # nothing done yet in this shift
    task: Task | None = None  # at it, or waiting for more hands for it
    mending: list[Task] = field(default_factory=list)
    begun: list[Task] = field(default_factory=list)
    asked: simpy.Event | None = None

    def can(self, kind: int) -> bool:
        return WORDS[kind] in self.skills


@dataclass(frozen=True)
class Spell:
    """A stretch of work on one task by one team."""

    task: Task
    team: tuple[Helper, ...]
    start: float
    end: float
    pace: float
