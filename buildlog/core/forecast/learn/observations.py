"""What the log says about effort: stints turned into observations, oddities named rather than dropped."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

import numpy as np
import numpy.typing as npt

from buildlog.core.forecast.input import (
    LONGEST_STINT_H,
    ForecastInput,
    Helper,
    ShiftInput,
    StandardRates,
    StintInput,
)
from buildlog.core.work.stages import COUNTED_IN_PIXELS, STAGE_COUNT, stage_index

Array = npt.NDArray[np.float64]

OVERRUN_H = 0.1  # a stint that ends this much after its shift may be a timer left on
CLOCK_STEPS_MIN = (15.0, 10.0, 5.0)  # to which people round when they write down times, coarsest first
FULL_STEPS = 4.0  # work worth so many of them is long enough to say how fast it went
ODD_SIGMAS = 2.5  # farther than this from what was expected counts less and is shown


@dataclass(frozen=True, slots=True)
class Effort:
    """What one spell of work on one segment took: units, person-hours, who, the practice they had before it.

    ``size`` is the log of the whole segment's units against a usual one; ``worked`` the hours at work on that day
    before it (mean of the helpers); ``clipped`` the person-hours up to the end of the shift, for a stint that ran
    past it.
    """

    stage: int
    helpers: tuple[int, ...]
    day: int
    units: float
    hours: float
    practice: tuple[float, ...]
    size: float
    worked: float
    clipped: float | None
    segment: str
    start: float


@dataclass(frozen=True)
class Observations:
    """All that the log says: efforts by stage, practice and stints so far, hours by kind, what was left out."""

    efforts: tuple[Effort, ...]
    practice: Array  # helpers × stages, units done so far
    counted: npt.NDArray[np.int64]  # helpers × stages, stints with pixels
    hours: dict[str, float]  # person-hours by stage word, "jobs", "rework"
    rework: tuple[float, ...]  # person-hours of each spell of rework
    unconfirmed: int


def observations_of(inputs: ForecastInput) -> Observations:
    """Read the log of an input in the order of time."""
    crew = max(1, len(inputs.helpers))
    practice = np.zeros((crew, STAGE_COUNT))
    counted = np.zeros((crew, STAGE_COUNT), dtype=np.int64)
    hours: dict[str, float] = defaultdict(float)
    today = [(0, 0.0)] * crew  # day, hours at work on it so far
    efforts: list[Effort] = []
    rework: list[float] = []
    doubtful, there = 0, promised(inputs)
    for stint in sorted(inputs.stints, key=lambda stint: (stint.start, stint.end, stint.helpers)):
        stage = stage_index(stint.work)
        spent = likely_hours(stint, there)
        hours[_kind(stint, stage)] += stint.person_hours if spent is None else spent
        worked = _worked(stint, today, there, spent)
        if stage is None:
            continue
        if stint.pixels == 0:
            rework.append(stint.person_hours if spent is None else spent)
            continue
        units = _units(stint, stage, inputs)
        if _usable(stint):
            day = there[stint.helpers[0]].day_of(stint.start)
            efforts.append(_effort(stint, stage, day, units, spent, practice, worked, inputs))
        else:
            doubtful += 1
        for helper in stint.helpers:
            practice[helper, stage] += units / len(stint.helpers)
            counted[helper, stage] += 1
    step = clock_step(inputs.stints)
    spells = _blocks(efforts, step, inputs.standard) if step else _joined(efforts)
    return Observations(tuple(spells), practice, counted, dict(hours), tuple(rework), doubtful)


def _worked(stint: StintInput, today: list[tuple[int, float]], there: Sequence[Promised], spent: float | None) -> float:
    """Hours at work on this day before the stint, mean of its helpers; counts the stint for the next one."""
    total = 0.0
    hours = (stint.person_hours if spent is None else spent) / len(stint.helpers)
    for helper in stint.helpers:
        day = there[helper].day_of(stint.start)
        before = today[helper][1] if today[helper][0] == day else 0.0
        today[helper] = (day, before + hours)
        total += before
    return total / len(stint.helpers)


def _kind(stint: StintInput, stage: int | None) -> str:
    if stage is None:
        return "jobs"
    return stint.work if stint.pixels else "rework"


def _usable(stint: StintInput) -> bool:
    return stint.confirmed and stint.end - stint.start <= LONGEST_STINT_H


def _units(stint: StintInput, stage: int, inputs: ForecastInput) -> float:
    """Pixels, or for wire and test the runs that these pixels are worth."""
    if COUNTED_IN_PIXELS[stage]:
        return float(stint.pixels)
    place = inputs.place.get(stint.segment)
    if place is not None:
        segment = inputs.segments[place]
        return segment.units(stage) * stint.pixels / segment.pixels
    runs = sum(max(1, len(segment.runs)) for segment in inputs.segments)
    return stint.pixels * runs / max(1, inputs.pixels)


def _effort(
    stint: StintInput,
    stage: int,
    day: int,
    units: float,
    spent: float | None,
    practice: Array,
    worked: float,
    inputs: ForecastInput,
) -> Effort:
    before = tuple(float(practice[helper, stage]) for helper in stint.helpers)
    place = inputs.place.get(stint.segment)
    size = 0.0 if place is None else inputs.segments[place].size(stage, inputs.usual_pixels)
    return Effort(
        stage, stint.helpers, day, units, stint.person_hours, before, size, worked, spent, stint.segment, stint.start
    )


class Promised:
    """When one helper said they would be there: looked up often, so the shifts are laid out once."""

    def __init__(self, helper: Helper) -> None:
        shifts = sorted(helper.shifts, key=lambda shift: (shift.start, shift.end))
        self._starts = [shift.start for shift in shifts]
        self._shifts = shifts
        self._last = list(accumulate(shifts, _later))  # which ends last of all so far

    def day_of(self, moment: float) -> int:
        """The local day of a moment: that of the nearest shift within 12 h, or the day in UTC."""
        after = bisect_right(self._starts, moment)
        near = [(max(moment - shift.end, 0.0), shift.day) for shift in self._last[after - 1 : after] if after]
        near += [(shift.start - moment, shift.day) for shift in self._shifts[after : after + 1]]
        gap, day = min(near, default=(math.inf, 0))
        return day if gap <= 12 else int(moment // 24) + 719163  # ordinal of 1970-01-01

    def end_of(self, start: float) -> float | None:
        """When the shift ends in which a stint begins (or which begins just after); None outside of all."""
        after = bisect_right(self._starts, start + OVERRUN_H)
        if not after or self._last[after - 1].end <= start:
            return None
        return self._last[after - 1].end


def _later(before: ShiftInput, shift: ShiftInput) -> ShiftInput:
    return shift if shift.end > before.end else before


def promised(inputs: ForecastInput) -> tuple[Promised, ...]:
    """The shifts of all helpers, laid out."""
    return tuple(Promised(helper) for helper in inputs.helpers)


def likely_hours(stint: StintInput, helpers: Sequence[Promised]) -> float | None:
    """Person-hours up to the end of the shift in which the stint began, when it ran well past it; else None."""
    ends = [end for helper in stint.helpers if (end := helpers[helper].end_of(stint.start)) is not None]
    if not ends or stint.end <= max(ends) + OVERRUN_H:
        return None
    worked = max(0.0, max(ends) - stint.start - stint.break_h)
    return worked * len(stint.helpers)


def _joined(efforts: Iterable[Effort]) -> Iterable[Effort]:
    """A segment that went on after a pause, at the same hands, is one observation."""
    open_spells: dict[tuple[int, str, tuple[int, ...]], Effort] = {}
    for number, effort in enumerate(efforts):
        key = (effort.stage, effort.segment or f"#{number}", effort.helpers)
        first = open_spells.get(key)
        open_spells[key] = effort if first is None else _sum(first, effort)
    return open_spells.values()


def clock_step(stints: Sequence[StintInput]) -> float:
    """The step [h] to which begins and ends are written down; 0 where they are finer than 5 minutes, or too few."""
    minutes = 60.0 * np.array([(stint.start, stint.end) for stint in stints]).ravel()
    if len(minutes) < 12:
        return 0.0
    for step in CLOCK_STEPS_MIN:
        off = np.abs(minutes / step - np.round(minutes / step)) * step
        if np.mean(off < 0.05) > 0.9:  # a few may be from a tablet, to the second
            return step / 60.0
    return 0.0


def _blocks(efforts: Iterable[Effort], step: float, standard: StandardRates) -> list[Effort]:
    """Spells of the same hands at a stage taken together until they are worth FULL_STEPS of the clock.

    What one short spell took is mostly rounding, and one rounded to nothing says nothing. Blocks are closed by their
    units, not their hours: to stop where the rounding happens to fit would bias the rate.
    """
    blocks: dict[tuple[int, tuple[int, ...]], list[Effort]] = defaultdict(list)

    def worth(effort: Effort) -> float:
        return effort.units / standard.rate(effort.stage) / (FULL_STEPS * step)

    for effort in efforts:
        own = blocks[effort.stage, effort.helpers]
        if own and worth(own[-1]) < 1.0:
            own[-1] = _sum(own[-1], effort)
        else:
            own.append(effort)
    for own in blocks.values():
        if len(own) > 1 and worth(own[-1]) < 0.5:
            last = own.pop()
            own[-1] = _sum(own[-1], last)
    return sorted((block for own in blocks.values() for block in own), key=lambda block: block.start)


def _sum(first: Effort, more: Effort) -> Effort:
    clipped = None
    if first.clipped is not None or more.clipped is not None:
        clipped = (first.hours if first.clipped is None else first.clipped) + (
            more.hours if more.clipped is None else more.clipped
        )
    return replace(first, units=first.units + more.units, hours=first.hours + more.hours, clipped=clipped)
