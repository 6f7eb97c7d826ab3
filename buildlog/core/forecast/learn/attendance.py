"""Attendance of the crew, failure rates of tests, and the hours of rework.

Rates are Beta-Binomial with weak priors; the hours of a spell of rework are log-normal with a weak prior.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from buildlog.core.forecast.input import ForecastInput, ShiftInput
from buildlog.core.forecast.learn.observations import Array, Observations, promised
from buildlog.core.forecast.learn.open_work import OpenWork
from buildlog.core.work.stages import TEST

ATTENDANCE_PRIOR = (4.0, 1.0)  # before anything is seen: four of five who said so come
SHARED_PARTS = np.array([0.0, 0.1, 0.2, 0.35, 0.5, 0.7])  # of the variance of attendance: the day's doing
SHARED_PRIOR = np.array([0.25, 0.2, 0.2, 0.15, 0.12, 0.08])
DROPOUT = 0.006  # the chance, each promised day, that somebody will not come again
FAILURE_PRIOR = (0.6, 19.4)  # three tests in a hundred fail
CREW_WEIGHT = 5.0  # how many days of a helper's own the crew's rate is worth
REWORK_H, REWORK_SPREAD, REWORK_WEIGHT = 0.30, 0.5, 4.0


@dataclass(frozen=True, slots=True)
class Rate:
    """A Beta belief about a rate, from what was counted."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        return self.a / (self.a + self.b)

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        return rng.beta(self.a, self.b, size=number)


def rate_of(prior: tuple[float, float], hits: float, misses: float) -> Rate:
    """The Beta posterior after some hits and misses."""
    return Rate(prior[0] + hits, prior[1] + misses)


@dataclass(frozen=True, slots=True)
class HelperAttendance:
    """One helper's promised days so far, and the chance that they have left for good."""

    attended: int
    missed: int
    gone: float


@dataclass(frozen=True, slots=True)
class Attendance:
    """Belief about the rate of promised days on which the crew comes, and what each helper showed of their own."""

    crew: Rate
    helpers: tuple[HelperAttendance, ...]

    def draw(self, number: int, rng: np.random.Generator) -> tuple[Array, Array]:
        """Draws of the crew's rate (number) and of each helper's around it (number × helpers)."""
        crew = self.crew.draw(number, rng)
        came = np.array([own.attended for own in self.helpers])
        missed = np.array([own.missed for own in self.helpers])
        return crew, helper_rates(crew[:, None], came, missed, rng)


def helper_rates(crew: Array, came: Array, missed: Array, rng: np.random.Generator) -> Array:
    """Helpers' rates of days on which they come, given the crew's and what they showed."""
    return rng.beta(CREW_WEIGHT * crew + came, CREW_WEIGHT * (1 - crew) + missed + 1e-6)


def attendance(inputs: ForecastInput) -> Attendance:
    """From the promised days that are over. Days of one helper say less about the crew than days of many."""
    days = [list(own.values()) for own in promised_days(inputs)[: inputs.known]]
    usual = rate_of(ATTENDANCE_PRIOR, sum(sum(own) for own in days), sum(len(own) - sum(own) for own in days)).mean
    helpers = tuple(_of_helper(own, usual) for own in days)
    came, missed = 0.0, 0.0
    for own in helpers:
        weight = (1.0 + 1.0 / CREW_WEIGHT) / (1.0 + (own.attended + own.missed) / CREW_WEIGHT)
        came += weight * own.attended
        missed += weight * own.missed * (1.0 - own.gone)
    return Attendance(rate_of(ATTENDANCE_PRIOR, came, missed), helpers)


def _of_helper(days: list[bool], crew: float) -> HelperAttendance:
    """A row of missed days at the end is either chance or the end."""
    missed = len(days) - max((number + 1 for number, came in enumerate(days) if came), default=0)
    seen = days[: len(days) - missed]
    stays = rate_of((CREW_WEIGHT * crew, CREW_WEIGHT * (1 - crew)), sum(seen), len(seen) - sum(seen))
    by_chance = 1.0
    for number in range(missed):
        by_chance *= (stays.b + number) / (stays.a + stays.b + number)
    left = 1.0 - (1.0 - DROPOUT) ** missed
    gone = left / (left + (1.0 - left) * by_chance) if missed else 0.0
    return HelperAttendance(sum(days), len(days) - sum(days), gone)


def worked_days(inputs: ForecastInput) -> tuple[frozenset[int], ...]:
    """For each helper, the local days on which they have a stint."""
    there = promised(inputs)
    days: list[set[int]] = [set() for _ in inputs.helpers]
    for stint in inputs.stints:
        for helper in stint.helpers:
            days[helper].add(there[helper].day_of(stint.start))
    return tuple(frozenset(own) for own in days)


def promised_days(inputs: ForecastInput) -> tuple[dict[int, bool], ...]:
    """For each helper the promised days that are over, in order: did they come? Days without work are left out."""
    begun = min((stint.start for stint in inputs.stints), default=math.inf)
    work = _Work(inputs)
    promised_of = []
    for number, (helper, worked) in enumerate(zip(inputs.helpers, worked_days(inputs), strict=True)):
        ahead = {shift.day for shift in helper.shifts if shift.end > inputs.as_of}
        spells: dict[int, list[ShiftInput]] = {}
        for shift in helper.shifts:
            if begun < shift.end <= inputs.as_of and shift.day not in ahead:
                spells.setdefault(shift.day, []).append(shift)
        days = sorted(day for day in spells if day in worked or work.there(number, spells[day]))
        promised_of.append({day: day in worked for day in days})
    return tuple(promised_of)


class _Work:
    """Was there work for somebody on a day on which they have no stint?"""

    def __init__(self, inputs: ForecastInput) -> None:
        self._helpers, self._open = inputs.helpers, OpenWork(inputs)
        begun: dict[tuple[str, str], tuple[float, int]] = {}
        for stint in inputs.stints:
            key = (stint.work, stint.segment)
            if stint.pixels and stint.segment and stint.start < begun.get(key, (math.inf, 0))[0]:
                begun[key] = (stint.start, stint.helpers[0])
        self._begun = sorted((when, who, work) for (work, _), (when, who) in begun.items())

    def there(self, number: int, spells: list[ShiftInput]) -> bool:
        """Something that was open as they should have come, or that somebody else did begin while they were away."""
        helper = self._helpers[number]
        if any(self._open.to(helper, spell.start) for spell in spells):
            return True
        first, last = (bisect_left(self._begun, (at,)) for at in (spells[0].start, spells[-1].end))
        return any(who != number and work in helper.skills for _, who, work in self._begun[first:last])


@dataclass(frozen=True, slots=True)
class SharedAttendance:
    """Belief about how much of attendance is the day's doing (weather, traffic), the same for everybody: shares of the
    variance of its normal score, and the chance of each."""

    parts: Array
    chance: Array

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        return rng.choice(self.parts, size=number, p=self.chance)


def shared_attendance_of(days: Sequence[dict[int, bool]]) -> SharedAttendance:
    """From who came on the days that are over; the day's own doing is summed out (Gauss-Hermite)."""
    means = [rate_of(ATTENDANCE_PRIOR, sum(own.values()), len(own) - sum(own.values())).mean for own in days]
    nodes, weights = np.polynomial.hermite_e.hermegauss(21)
    weights = weights / weights.sum()
    logs = np.log(SHARED_PRIOR)
    for day in sorted({day for own in days for day in own}):
        came = [(ndtri(mean), own[day]) for own, mean in zip(days, means, strict=True) if day in own]
        if len(came) < 2:
            continue
        scores, there = np.array([score for score, _ in came]), np.array([attended for _, attended in came])
        cut = scores[None, :, None] - np.sqrt(SHARED_PARTS)[:, None, None] * nodes
        attends = ndtr(cut / np.sqrt(1.0 - SHARED_PARTS)[:, None, None])  # parts × helpers × nodes
        logs = logs + np.log(np.where(there[None, :, None], attends, 1.0 - attends).prod(axis=1) @ weights)
    chance = np.exp(logs - logs.max())
    return SharedAttendance(SHARED_PARTS, chance / chance.sum())


def failed_tests(inputs: ForecastInput, observations: Observations) -> Rate:
    """The rate of tested segments that need rework."""
    tested = sum(segment.done[TEST] / segment.pixels for segment in inputs.segments)
    failed = max(float(inputs.faults_found), float(len(observations.rework)))
    return rate_of(FAILURE_PRIOR, failed, max(0.0, tested - failed))


@dataclass(frozen=True, slots=True)
class Rework:
    """Belief about the person-hours of one spell of rework: log-normal, its centre and spread drawn a trial."""

    centre: float
    centre_sd: float
    spread: float

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        return self.centre + self.centre_sd * rng.standard_normal(number)


def rework_hours(observations: Observations) -> Rework:
    """From the spells of rework so far, shrunk towards REWORK_H."""
    logs = np.log(np.maximum([hours for hours in observations.rework if hours > 0], 1 / 60))
    weight = REWORK_WEIGHT + len(logs)
    if len(logs) == 0:
        return Rework(math.log(REWORK_H), REWORK_SPREAD / math.sqrt(REWORK_WEIGHT), REWORK_SPREAD)
    middle = float(np.median(logs))
    centre = (REWORK_WEIGHT * math.log(REWORK_H) + len(logs) * middle) / weight
    off = np.minimum((logs - middle) ** 2, 1.5)
    spread = math.sqrt((REWORK_WEIGHT * REWORK_SPREAD**2 + float(off.sum())) / weight)
    return Rework(centre, spread / math.sqrt(weight), spread)
