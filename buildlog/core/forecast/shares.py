"""Shares of what goes otherwise than planned: who comes, which tests fail, how long mending takes.

Shares are Beta-Binomial with weak priors; the hours of a spell of rework are log-normal with a weak prior.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.evidence import Array, Evidence, day_of
from buildlog.core.forecast.world import World

COMES = (9.0, 1.0)  # before anything is seen: nine of ten who said so come
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


def attendance(world: World) -> tuple[Share, ...]:
    """For each helper, the share of days they said they would come on which they do (pooled over the crew)."""
    seen = [_days(world, number) for number in range(len(world.helpers))]
    crew = share(COMES, sum(came for came, _ in seen), sum(missed for _, missed in seen)).mean
    prior = (CREW_WEIGHT * crew, CREW_WEIGHT * (1 - crew))
    return tuple(share(prior, came, missed) for came, missed in seen)


def worked_days(world: World, number: int) -> frozenset[int]:
    """Local days on which a helper has a stint."""
    helper = world.helpers[number]
    return frozenset(day_of(stint.start, helper) for stint in world.stints if number in stint.helpers)


def _days(world: World, number: int) -> tuple[int, int]:
    """Days that are over and were promised: how many of them the helper came, how many not."""
    worked = worked_days(world, number)
    promised = {shift.day for shift in world.helpers[number].shifts if shift.end <= world.as_of}
    promised -= {shift.day for shift in world.helpers[number].shifts if shift.end > world.as_of}
    begun = min((stint.start for stint in world.stints), default=math.inf)
    before = {shift.day for shift in world.helpers[number].shifts if shift.end <= begun}
    promised -= before  # the log had not begun
    return len(promised & worked), len(promised - worked)


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
