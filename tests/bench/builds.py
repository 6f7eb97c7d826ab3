"""Invented builds whose whole story is known: what a log shows by some evening, and what then really happened.

The stories have what the forecast's model does not: tiredness through the day, one gift for all stages, rings that
are harder than others, rates that drift, days on which many stay away at once, a helper who leaves for good, timers
left on, pauses between stints, crews that do or do not take over each other's work. They are told in plain
Python (``telling``), on their own, so that no mistake is shared with the compiled trials.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from buildlog.core.forecast.input import Helper, RunInput, ShiftInput, StintInput
from buildlog.core.work.stages import STAGES
from tests.bench.families import MIXED, Family
from tests.bench.stories import DAY, SATURDAY, Story, Truth, ordinal
from tests.bench.telling import Telling

NAMES = ["Ada", "Bo", "Cleo", "Dag", "Eli", "Fay", "Gus", "Hal", "Ivy", "Jon", "Kit", "Lou"]


def story(number: int, family: Family = MIXED) -> Story:
    """Story number so-and-so of a family, told to its end."""
    rng = np.random.default_rng(family.seed + number)
    told = untold(number, family, rng)
    Telling(told, rng).tell()
    if family.forgets_last:
        _forget(told, rng)
    if family.rounds_h:
        told.stints = [_rounded(stint, family.rounds_h) for stint in told.stints]
    return told


def untold(number: int, family: Family, rng: np.random.Generator) -> Story:
    """The same story before anything has happened."""
    pixels = _pixels(rng, family)
    crew = int(rng.integers(*family.crew))
    runs = chain(pixels, int(rng.choice(family.capacity)))
    told = Story(number, family, pixels, runs, [], _truth(rng, family, crew, len(pixels)))
    told.helpers = _crew(rng, family, crew, days=int(40 + sum(pixels) / 12))
    return told


def _pixels(rng: np.random.Generator, family: Family) -> list[int]:
    """Segments of a ball without ribs."""
    rings = int(rng.integers(*family.rings))
    widest = int(rng.integers(*family.widest))
    found = []
    for ring in range(rings):
        count = max(20, round(widest * math.sin(math.pi * (ring + 2.0) / (rings + 4.0))))
        pieces = math.ceil(count / 100)
        found += [count // pieces + (1 if piece < count % pieces else 0) for piece in range(pieces)]
    return found


def chain(pixels: list[int], capacity: int) -> list[tuple[RunInput, ...]]:
    runs: list[tuple[RunInput, ...]] = []
    channel, room, place = 1, capacity, 1
    for count in pixels:
        own = []
        while count:
            if room == 0:
                channel, room, place = channel + 1, capacity, 1
            part = min(count, room)
            own.append(RunInput(channel, place, part))
            room, count, place = room - part, count - part, place + 1
        runs.append(tuple(own))
    return runs


def _truth(rng: np.random.Generator, family: Family, crew: int, segments: int) -> Truth:
    standard = np.array([1 / 400, 1 / 350, 1 / 6, 1 / 15])
    level = standard * np.exp(rng.normal(family.off, family.off_apart, 4))
    gift = rng.normal(0, rng.uniform(*family.gift), (crew, 1)) + rng.normal(0, rng.uniform(0.05, 0.25), (crew, 4))
    leaves = {int(rng.integers(0, crew)): int(rng.integers(6, 30))} if crew > 3 and rng.random() < family.leaves else {}
    return Truth(
        effort=level * np.exp(gift),
        practice=rng.uniform(*family.practice, (crew, 1)) + rng.uniform(-0.02, 0.03, (crew, 4)),
        practice_unit=np.array([rng.uniform(60, 400), rng.uniform(60, 400), rng.uniform(2, 8), rng.uniform(2, 8)]),
        noise=rng.uniform(*family.noise, 4),
        tired=np.maximum(0, rng.normal(family.tired, 0.02, crew)),
        comes=np.clip(rng.beta(*family.comes, crew), 0.5, 1.0),
        hardness=np.exp(
            float(rng.uniform(0.0, 0.12)) * np.sin(np.linspace(0, rng.uniform(2, 7), segments) + rng.uniform(0, 6))
        ),
        leaves=leaves,
        bad_days=float(rng.choice(family.bad_days)),
        fails=float(rng.uniform(*family.fails)),
        mend_h=float(rng.uniform(*family.mend_h)),
        forgets=float(rng.choice(family.forgets)),
        gap_h=float(rng.choice(family.gap_h)),
        late_h=family.late_h,
        keep=bool(rng.random() < family.keep),
        in_order=bool(rng.random() < family.in_order),
        drift=float(rng.normal(0, family.drift)),
    )


def _crew(rng: np.random.Generator, family: Family, crew: int, days: int) -> list[Helper]:
    helpers = []
    for number in range(crew):
        skills = {stage.value for stage in STAGES}
        if number > 0 and rng.random() < 0.4:
            skills -= {str(rng.choice(["mount", "wire", "test"]))}
        weekend, evening = rng.uniform(*family.weekend), rng.uniform(*family.evening)
        shifts: list[ShiftInput] = []
        for day in range(days):
            begin = SATURDAY + DAY * day
            if day % 7 in (0, 1) and rng.random() < weekend:
                shifts += [
                    ShiftInput(begin + 9, begin + 12.5, ordinal(begin)),
                    ShiftInput(begin + 13.25, begin + 17, ordinal(begin)),
                ]
            elif day % 7 in family.evenings and rng.random() < evening:
                shifts.append(ShiftInput(begin + 18, begin + 21, ordinal(begin)))
        helpers.append(Helper(NAMES[number], frozenset(skills), 3.0, tuple(shifts)))
    return helpers


def _rounded(stint: StintInput, step: float) -> StintInput:
    """As somebody writes it down who looks at the clock now and then."""
    return replace(stint, start=round(stint.start / step) * step, end=round(stint.end / step) * step)


def _forget(told: Story, rng: np.random.Generator) -> None:
    """The last timer of somebody's day is left on now and then, whether or not the shift is over."""
    last: dict[tuple[int, int], int] = {}
    for at, stint in enumerate(told.stints):
        last[stint.helpers[0], ordinal(stint.start)] = at
    for at in last.values():
        if rng.random() < told.truth.forgets:
            stint = told.stints[at]
            end = min(stint.end + rng.exponential(2.5), math.floor(stint.end / DAY) * DAY + 23.9)
            told.stints[at] = replace(stint, end=end)
