"""Our trial engine with everything given: rates instead of what a log teaches, and no chance. Times in hours.

Nothing is learned and nothing drawn here, so an answer known from outside must come out to the last digit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.input import ForecastInput, Helper, JobInput, ShiftInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.draws import calm_draws
from buildlog.core.forecast.simulate.records import JOB
from buildlog.core.forecast.simulate.run import play
from buildlog.core.forecast.simulate.state import Draws, no_log
from buildlog.core.work.stages import STAGES

ROOM = 4000  # chunks of work that are kept


@dataclass(frozen=True, slots=True)
class Chunk:
    """One pair of hands at one item of work without a pause: a segment's code at a stage, or a job's name."""

    helper: int
    work: str
    segment: str
    start: float
    end: float


@dataclass(frozen=True)
class Played:
    """When the one trial ends, and who did what in it."""

    finish: float
    chunks: tuple[Chunk, ...]

    def of(self, name: str) -> tuple[float, float]:
        """Start and end of a job, or of a segment at its only stage."""
        found = [chunk for chunk in self.chunks if name in (chunk.segment or chunk.work, chunk.work)]
        return min(chunk.start for chunk in found), max(chunk.end for chunk in found)


def crew(number: int, hours: float = 10_000.0, **also) -> tuple[Helper, ...]:
    """Helpers who can do everything and are there without a pause."""
    return tuple(
        Helper(f"Helper {n}", **{"shifts": (ShiftInput(0.0, hours, 719163),), "populate_limit_h": None} | also)
        for n in range(1, number + 1)
    )


def given(inputs: ForecastInput, effort: np.ndarray, *, curve: Sequence[float] = (0.0,) * 4) -> Draws:
    """A trial without chance: ``effort`` (helpers × stages) [person-hours per unit], ``curve`` the exponents of
    practice by stage; everybody comes, nothing fails, begun work may be taken over."""
    calm = calm_draws(inputs, Learned(inputs))
    stages = np.zeros_like(calm.stages)
    stages["curve"] = curve
    return calm._replace(effort=np.log(effort)[None], stages=stages, once=np.zeros_like(calm.once))


def played(inputs: ForecastInput, draws: Draws) -> Played:
    """Play the one trial of these draws, and keep who did what."""
    log = no_log(ROOM)
    finish = float(play(arrays_of(inputs, Learned(inputs)), draws, log)["finish"][0])
    chunks = []
    for helper, kind, number, start, end, _ in log.tolist():
        if end > start:
            work = inputs.jobs[number].name if kind == JOB else STAGES[kind].value
            chunks.append(Chunk(helper, work, "" if kind == JOB else inputs.segments[number].code, start, end))
    return Played(finish, tuple(chunks))


def jobs(hours: Mapping[str, float], after: Mapping[str, Sequence[str]] | None = None) -> tuple[JobInput, ...]:
    """Jobs of exactly so many person-hours, in the order of a priority list."""
    return tuple(
        JobInput(name, length, length, length, after=tuple((after or {}).get(name, ())))
        for name, length in hours.items()
    )


def only_jobs(jobs: tuple[JobInput, ...], helpers: int) -> Played:
    """Nothing but jobs, by so many equal helpers: a free one takes the first of the list that may begin."""
    inputs = ForecastInput(0.0, (), crew(helpers), jobs=jobs)
    return played(inputs, given(inputs, np.ones((helpers, 4))))
