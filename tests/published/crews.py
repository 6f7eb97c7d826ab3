"""Random builds with everything that the trials know, small enough to be played many times by a slow model."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from buildlog.core.forecast.input import (
    ForecastInput,
    Helper,
    JobInput,
    RunInput,
    SegmentInput,
    ShiftInput,
    StandardRates,
)
from buildlog.core.forecast.simulate.draws import draw_jobs
from buildlog.core.forecast.simulate.records import ONCE, STAGE_DRAW
from buildlog.core.forecast.simulate.state import Draws

STAGES = ("populate", "mount", "wire", "test")
FIRST_DAY, DAYS = 719163, 200  # as_of is 1970-01-01 00:00 UTC


def random_build(seed: int) -> ForecastInput:
    """A build of its own for every seed."""
    rng = np.random.default_rng([9, seed])
    crew = int(rng.integers(4, 7))
    jobs = _jobs(rng)
    return ForecastInput(
        0.0,
        _segments(rng, crew),
        _crew(rng, crew, jobs),
        jobs=jobs,
        people=(None, [None, 2, 3][seed % 3], 1 + seed % 2, int(rng.integers(1, 3))),
        standard=StandardRates(populate=80.0, mount=80.0, wire=1.5, test=2.5),
        keeps=bool(seed // 2 % 2),
        in_order=bool(seed // 4 % 2),
    )


def _segments(rng: np.random.Generator, crew: int) -> tuple[SegmentInput, ...]:
    """The closing ones lie anywhere in the order; the data goes nearly along it."""
    number = int(rng.integers(20, 30))
    pixels = rng.integers(30, 101, number).tolist()
    runs = _runs(pixels, np.argsort(np.arange(number) + rng.uniform(0, 8, number)), int(rng.integers(200, 400)))
    first = int(rng.integers(0, number - 4))
    return tuple(
        SegmentInput(
            f"S{n}",
            pixels[n],
            (int(rng.integers(0, pixels[n])) if rng.random() < 0.15 else 0, 0, 0, 0),
            tuple(runs[n]),
            n,
            closing=first <= n < first + 4,
            assigned=int(rng.integers(0, crew)) if rng.random() < 0.2 else None,
            hands=(1, int(rng.choice([1, 2], p=[0.7, 0.3])), 1, 1),
            open_faults=int(rng.random() < 0.05),
        )
        for n in range(number)
    )


def _runs(pixels: list[int], order: np.ndarray, capacity: int) -> list[list[RunInput]]:
    """Channels of so many pixels, cut anywhere."""
    runs: list[list[RunInput]] = [[] for _ in pixels]
    channel, place, room = 1, 1, capacity
    for n in order.tolist():
        left = pixels[n]
        while left:
            if room == 0:
                channel, place, room = channel + 1, 1, capacity
            part = min(left, room)
            runs[n].append(RunInput(channel, place, part))
            left, room, place = left - part, room - part, place + 1
    return runs


def _jobs(rng: np.random.Generator) -> tuple[JobInput, ...]:
    found: list[JobInput] = []
    for number in range(int(rng.integers(0, 4))):
        likely = float(rng.uniform(1, 4))
        before = ["populate", "mount", *(job.name for job in found)]
        after = (str(rng.choice(before)),) if rng.random() < 0.6 else ()
        found.append(JobInput(f"job {number}", likely / 2, likely, 2 * likely, int(rng.integers(1, 3)), after))
    return tuple(found)


def _crew(rng: np.random.Generator, crew: int, jobs: tuple[JobInput, ...]) -> tuple[Helper, ...]:
    """Two who can do everything, others who cannot; they come on days of their own, some twice on a day."""
    found = []
    for number in range(crew):
        skills = set(STAGES) if number < 2 else set(rng.choice(STAGES, int(rng.integers(2, 5)), replace=False).tolist())
        skills |= {job.name for job in jobs if number < 2 or rng.random() < 0.5}
        often = rng.uniform(0.8, 1.0)
        shifts = []
        for day in range(DAYS):
            if rng.random() < often:
                begin = 24 * day + float(rng.choice([8.0, 9.0, 10.0]))
                shifts.append(ShiftInput(begin, begin + 3.0, FIRST_DAY + day))
                if rng.random() < 0.4:
                    shifts.append(ShiftInput(begin + 4.0, begin + 7.0, FIRST_DAY + day))
        found.append(Helper(f"Helper {number}", frozenset(skills), float(rng.uniform(0.5, 1.5)), tuple(shifts)))
    return tuple(found)


def drawn(inputs: ForecastInput, trials: int, rng: np.random.Generator) -> Draws:
    """What is drawn once a trial, to be given to both models: paces, learning, who comes, what fails."""
    crew = len(inputs.helpers)
    usual = -np.log([inputs.standard.rate(stage) for stage in range(4)])
    effort = usual + rng.normal(0, 0.15, (trials, 1, 4)) + rng.normal(0, 0.25, (trials, crew, 4))
    stages = np.empty((trials, 4), STAGE_DRAW)
    stages["curve"] = rng.uniform(-0.30, -0.05, (trials, 4))  # learning
    stages["growth"] = rng.normal([0.0, 0.0, -0.5, -0.5], 0.1, (trials, 4))  # large segments
    stages["fatigue"] = rng.uniform(0.0, 0.05, (trials, 4))  # fatigue
    stages["sigma"] = rng.uniform(0.1, 0.3, (trials, 4))  # noise of a segment
    stages["omega"] = rng.uniform(0.0, 0.15, (trials, 4))  # noise of a day
    once = np.empty(trials, ONCE)
    once["failure_rate"] = rng.uniform(0.02, 0.20, trials)
    once["mend_centre"] = np.log(0.5) + rng.normal(0, 0.3, trials)
    once["mend_spread"] = rng.uniform(0.2, 0.6, trials)
    once["keeps"], once["in_order"] = bool(inputs.keeps), bool(inputs.in_order)
    once["pause"] = rng.uniform(0.0, 0.1, trials)
    once["shared_part"] = rng.uniform(0.0, 0.5, trials)
    return Draws(
        key=rng.integers(1, 2**62, trials),
        effort=effort,
        stages=stages,
        attendance=ndtri(rng.uniform(0.85, 0.98, (trials, crew))),
        days_left=np.where(np.arange(crew) < 2, np.inf, rng.geometric(0.02, (trials, crew))),
        once=once,
        job_hours=draw_jobs(inputs.jobs, trials, rng),
    )
