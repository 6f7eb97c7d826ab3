"""Habits of the crew: does a begun segment wait for whoever began it, does a stage keep to the order?

The rules leave both open, crews do not, and the finish depends on it: where nobody takes over, one helper who stays
away holds up a whole stage. Each habit is either there or not; every occasion in the log on which it could show
counts for or against it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from buildlog.core.forecast.input import ForecastInput, StintInput
from buildlog.core.work.stages import MOUNT, STAGE_COUNT, STAGES, WIRE, stage_before, stage_index

SHOWN, SLIP = 0.95, 0.30  # a crew with the habit shows it so often; one without looks like it by accident
WEAK = 0.3  # how much going on with one's own after a pause counts, when all came back at once
KEEPS, IN_ORDER = 0.65, 0.6  # before anything is seen
FEW = 1e-9


@dataclass(frozen=True, slots=True)
class Habits:
    """Chances that the crew keeps begun work with whoever began it, and keeps to the order within a stage."""

    keep: float
    in_order: float


def habits_of(inputs: ForecastInput) -> Habits:
    """Read the log in the order of time."""
    log = _Replay(inputs)
    for stint in sorted(inputs.stints, key=lambda stint: (stint.start, stint.end, stint.helpers)):
        log.take(stint)
    log.close()
    kept = log.kept + WEAK * log.went_on
    return Habits(chance_of(KEEPS, kept, log.passed_on), chance_of(IN_ORDER, log.waited, log.jumped))


def chance_of(before: float, shown: float, broken: float) -> float:
    """The chance of a habit, from what was believed before and the occasions on which it was shown or broken."""
    log_odds = (
        math.log(before / (1 - before)) + shown * math.log(SHOWN / SLIP) + broken * math.log((1 - SHOWN) / (1 - SLIP))
    )
    return 1.0 / (1.0 + math.exp(-max(-40.0, min(40.0, log_odds))))


@dataclass
class _Replay:
    """The build as it stood at each stint's start, and what was counted up to it."""

    inputs: ForecastInput
    kept: int = 0
    went_on: int = 0
    passed_on: int = 0
    waited: int = 0
    jumped: int = 0
    last: dict[tuple[int, int], StintInput] = field(default_factory=dict)
    begins: list[tuple[StintInput, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        segments = self.inputs.segments
        self.pixels = np.array([segment.pixels for segment in segments], dtype=float)
        self.before = np.array(
            [[_before(stage, segment.closing) for stage in range(STAGE_COUNT)] for segment in segments]
        )
        self.begun = np.zeros((len(segments), STAGE_COUNT), dtype=bool)
        self.done = np.zeros((len(segments), STAGE_COUNT))
        self.when = np.full((len(segments), STAGE_COUNT + 1), np.inf)
        self.when[:, STAGE_COUNT] = -np.inf  # what comes before the first stage is always done

    def take(self, stint: StintInput) -> None:
        stage, place = stage_index(stint.work), self.inputs.place.get(stint.segment)
        if stage is None or place is None or stint.pixels == 0 or len(stint.helpers) > 1:
            return
        before = self.last.get((place, stage))
        if before is not None:
            self._went_on(before, stint, stage)
        elif self.inputs.segments[place].assigned is None:
            self._began(stint, place, stage)
            self.begins.append((stint, stage))
        self.begun[place, stage] = True
        self.done[place, stage] += stint.pixels
        if self.done[place, stage] >= self.pixels[place]:
            self.when[place, stage] = stint.end
            self.last.pop((place, stage), None)
        else:
            self.last[place, stage] = stint

    def close(self) -> None:
        """Begun work that others have left alone until now."""
        for (_, stage), before in self.last.items():
            self.kept += self._others(before, stage, math.inf)

    def _went_on(self, before: StintInput, stint: StintInput, stage: int) -> None:
        if before.helpers != stint.helpers:
            self.passed_on += 1
        elif self._others(before, stage, stint.start):
            self.kept += 1
        else:
            self.went_on += len(self.inputs.helpers) > 1

    def _others(self, before: StintInput, stage: int, until: float) -> bool:
        """Has somebody else, with the skill, begun something no later in the order instead?"""
        return any(
            other <= stage
            and before.end - FEW <= stint.start < until - FEW
            and stint.helpers != before.helpers
            and STAGES[stage].value in self.inputs.helpers[stint.helpers[0]].skills
            for stint, other in reversed(self.begins[-400:])
        )

    def _began(self, stint: StintInput, place: int, stage: int) -> None:
        """Past a blocked segment, or was an open one past a blocked one left alone?"""
        earlier = np.flatnonzero(~self.begun[:place, stage])
        if len(earlier) and not self._open(earlier, stage, stint.start).all():
            self.jumped += 1
            return
        skills = self.inputs.helpers[stint.helpers[0]].skills
        for later in (WIRE, MOUNT):  # tests also wait for the data, so they say little
            roomy = (self.inputs.people[later] or len(self.inputs.helpers)) >= len(self.inputs.helpers)
            able = STAGES[later].value in skills and roomy
            if later > stage and able and self._left_alone(later, stint.start):
                self.waited += 1
                return

    def _open(self, places: np.ndarray, stage: int, now: float) -> np.ndarray:
        return np.asarray(self.when[places, self.before[places, stage]] <= now + FEW)

    def _left_alone(self, stage: int, now: float) -> bool:
        waiting = np.flatnonzero(~self.begun[:, stage])
        is_open = self._open(waiting, stage, now)
        return len(waiting) > 0 and not is_open[0] and bool(is_open.any())


def _before(stage: int, closing: bool) -> int:
    first = stage_before(STAGES[stage], closing)
    return STAGE_COUNT if first is None else STAGES.index(first)
