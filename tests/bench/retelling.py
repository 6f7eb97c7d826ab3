"""The floor: what a forecast would miss by that knows every truth of a story and lacks only its luck to come.

From the evening of the forecast the story is told on many times with the same truth and other luck: who comes, how hard
a segment not begun turns out, what fails. The median of the hours is compared with what happened, and how often the
true finish lies inside 10–90. No forecast from a log can be better; how far from this floor ours lies is what it does
not know of rates, practice and tiredness.

python -m tests.bench.bench_accuracy floor
"""

from __future__ import annotations

import copy
import heapq
import math
from collections.abc import Sequence

import numpy as np

from tests.bench import builds
from tests.bench.families import Family
from tests.bench.stories import Story
from tests.bench.telling import Telling


class Paused(Telling):
    """A telling that keeps a copy of itself at each of some moments."""

    def tell_to(self, moments: Sequence[float]) -> dict[float, Paused]:
        todo, kept = sorted(set(moments)), {}
        for event in self._shifts():
            heapq.heappush(self.queue, event)
        while self.queue and not self._done():
            while todo and self.queue[0][0] > todo[0]:
                kept[todo.pop(0)] = self._copied()
            self.step()
        return kept

    def _copied(self) -> Paused:
        """Without what has happened so far, sharing what does not change."""
        told = self.story
        stints, real = told.stints, told.real
        told.stints, told.real = [], []
        same = {id(one): one for one in (told.pixels, told.runs, told.helpers, told.truth, told.family)}
        found = copy.deepcopy(self, same)
        told.stints, told.real = stints, real
        return found

    def told_on(self, moment: float, rng: np.random.Generator) -> tuple[float, float]:
        """From a moment on with other luck: hours until the finish, and person-hours."""
        other = copy.deepcopy(self)
        other.rng = rng
        other._queue = [event for event in self.queue if event[1] == 0]
        for event in other._shifts():
            if event[0] > moment:
                heapq.heappush(other.queue, event)
        factor = np.exp(rng.normal(0, 1, other.factor.shape) * other.truth.noise)
        other.factor = np.where(np.array(other.begun), other.factor, factor)
        while other.queue and not other._done():
            other.step()
        return (other.story.finish if other._done() else math.inf) - moment, other.story.hours


def retold(number: int, family: Family, moments: Sequence[float], times: int = 40) -> dict[float, np.ndarray]:
    """So many tellings with other luck from each moment on: tellings × (hours until the finish, person-hours)."""
    rng = np.random.default_rng(family.seed + number)
    told: Story = builds.untold(number, family, rng)
    kept = Paused(told, rng).tell_to(moments)
    draws = [np.random.default_rng([family.seed, number, again]) for again in range(times)]
    return {moment: np.array([paused.told_on(moment, rng) for rng in draws]) for moment, paused in kept.items()}
