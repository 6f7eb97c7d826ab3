"""Shares of what goes otherwise than planned: who comes, which tests fail, how long mending takes.

Shares are Beta-Binomial with weak priors; the hours of a spell of rework are log-normal with a weak prior.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.evidence import Array, Evidence, promised
from buildlog.core.forecast.world import Shift, World
from buildlog.core.work.stages import STAGES

COMES = (5.0, 0.9)  # before anything is seen: about six of seven who said so come
TOGETHER = 0.2  # how much of coming or not is the day's doing (weather, traffic), the same for everybody
LEAVES = 0.004  # the chance, each promised day, that somebody will not come again
FAILS = (0.6, 19.4)  # three tests in a hundred fail
REPLACED = (0.5, 199.5)
CREW_WEIGHT = 6.0  # how many days of a helper's own the crew's share is worth
REWORK_H, REWORK_SPREAD, REWORK_WEIGHT = 0.30, 0.5, 4.0


@dataclass(frozen=True, slots=True)
class Share:
    """A Beta belief about a share, from what was counted."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        return self.a / (self.a + self.b)

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        return rng.beta(self.a, self.b, size=number)


def share(prior: tuple[float, float], hits: float, misses: float) -> Share:
    """The Beta posterior after some hits and misses."""
    return Share(prior[0] + hits, prior[1] + misses)


@dataclass(frozen=True, slots=True)
class Coming:
    """Belief about one helper: the share of promised days on which they come, and whether they have left for good."""

    comes: Share
    gone: float


def attendance(world: World) -> tuple[Coming, ...]:
    """For each helper, from the promised days that are over (pooled over the crew)."""
    days = promised_days(world)
    crew = share(COMES, sum(sum(own) for own in days), sum(len(own) - sum(own) for own in days)).mean
    return tuple(_coming(own, crew) for own in days)


def _coming(days: list[bool], crew: float) -> Coming:
    """A row of missed days at the end is either chance or the end."""
    missed = len(days) - max((number + 1 for number, came in enumerate(days) if came), default=0)
    seen = days[: len(days) - missed]
    prior = (CREW_WEIGHT * crew, CREW_WEIGHT * (1 - crew))
    stays = share(prior, sum(seen), len(seen) - sum(seen))
    by_chance = 1.0
    for number in range(missed):
        by_chance *= (stays.b + number) / (stays.a + stays.b + number)
    left = 1.0 - (1.0 - LEAVES) ** missed
    gone = left / (left + (1.0 - left) * by_chance) if missed else 0.0
    return Coming(share(prior, sum(days), len(days) - sum(days)), gone)


def worked_days(world: World) -> tuple[frozenset[int], ...]:
    """For each helper, the local days on which they have a stint."""
    there = promised(world)
    days: list[set[int]] = [set() for _ in world.helpers]
    for stint in world.stints:
        for helper in stint.helpers:
            days[helper].add(there[helper].day_of(stint.start))
    return tuple(frozenset(own) for own in days)


def promised_days(world: World) -> tuple[list[bool], ...]:
    """For each helper the promised days that are over, in order: did they come? Days without work are left out."""
    begun = min((stint.start for stint in world.stints), default=math.inf)
    firsts = _firsts(world)
    found = []
    for number, (helper, worked) in enumerate(zip(world.helpers, worked_days(world), strict=True)):
        ahead = {shift.day for shift in helper.shifts if shift.end > world.as_of}
        spells: dict[int, list[Shift]] = {}
        for shift in helper.shifts:
            if begun < shift.end <= world.as_of and shift.day not in ahead:
                spells.setdefault(shift.day, []).append(shift)
        days = sorted(day for day in spells if day in worked or _had_work(world, number, spells[day], firsts))
        found.append([day in worked for day in days])
    return tuple(found)


def _firsts(world: World) -> dict[tuple[str, str], tuple[float, int]]:
    """When each segment was begun at each stage, and by whom."""
    found: dict[tuple[str, str], tuple[float, int]] = {}
    for stint in world.stints:
        key = (stint.work, stint.segment)
        if stint.pixels and stint.segment and stint.start < found.get(key, (math.inf, 0))[0]:
            found[key] = (stint.start, stint.helpers[0])
    return found


def _had_work(world: World, number: int, spells: list[Shift], firsts: dict[tuple[str, str], tuple[float, int]]) -> bool:
    """Was there something that anybody might begin, or that somebody else did begin, in these spells?"""
    helper, first = world.helpers[number], STAGES[0].value
    begin, end = spells[0].start, spells[-1].end
    if first in helper.skills:
        begun = sum(when < end for (work, _), (when, _) in firsts.items() if work == first)
        if begun < len(world.pieces):
            return True
    return any(
        begin <= when < end and who != number and work in helper.skills for (work, _), (when, who) in firsts.items()
    )


def failed_tests(world: World, evidence: Evidence) -> Share:
    """The share of tested segments that need rework."""
    tested = sum(piece.done[3] / piece.pixels for piece in world.pieces)
    failed = max(float(world.faults_found), float(len(evidence.rework)))
    return share(FAILS, failed, max(0.0, tested - failed))


def replaced_pixels(world: World) -> Share:
    """The share of tested pixels that had to be replaced."""
    return share(REPLACED, world.pixels_replaced, max(0, world.passed(3) - world.pixels_replaced))


@dataclass(frozen=True, slots=True)
class Rework:
    """Belief about the person-hours of one spell of rework: log-normal, its centre and spread drawn a trial."""

    centre: float
    centre_sd: float
    spread: float

    def draw(self, number: int, rng: np.random.Generator) -> Array:
        return self.centre + self.centre_sd * rng.standard_normal(number)


def rework_hours(evidence: Evidence) -> Rework:
    """From the spells of rework so far, shrunk towards REWORK_H."""
    logs = np.log(np.maximum([hours for hours in evidence.rework if hours > 0], 1 / 60))
    weight = REWORK_WEIGHT + len(logs)
    if len(logs) == 0:
        return Rework(math.log(REWORK_H), REWORK_SPREAD / math.sqrt(REWORK_WEIGHT), REWORK_SPREAD)
    middle = float(np.median(logs))
    centre = (REWORK_WEIGHT * math.log(REWORK_H) + len(logs) * middle) / weight
    off = np.minimum((logs - middle) ** 2, 1.5)
    spread = math.sqrt((REWORK_WEIGHT * REWORK_SPREAD**2 + float(off.sum())) / weight)
    return Rework(centre, spread / math.sqrt(weight), spread)
