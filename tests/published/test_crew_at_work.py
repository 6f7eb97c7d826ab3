"""The trials against an independent model of the same crew, written with SimPy (``at_work``): 10 random builds.

Both are given what is drawn once a trial: paces, learning, who is likely to come, what fails. First they are given the
chance of each segment, day and test too: what differs then is what they think the rules are. Then the SimPy model has a
chance of its own: what differs then is also how the trials draw.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.run import play
from buildlog.core.forecast.simulate.state import Draws
from tests.published.at_work import Shed
from tests.published.crews import drawn, random_build
from tests.published.drawn import Drawn

BUILDS, TRIALS = 10, 40
FIGURES = ("finish", "populate", "mount", "wire", "test", "jobs", "rework", "waiting")
TINY = 0.003  # of a mean: who looks first at one moment is nobody's rule


@cache
def build(seed: int) -> tuple[ForecastInput, Draws]:
    inputs = random_build(seed)
    return inputs, drawn(inputs, TRIALS, np.random.default_rng([10, seed]))


def ours(seed: int, times: int = 1) -> np.ndarray:
    """Trials × figures of the compiled trials; several times each with another chance: their means."""
    inputs, draws = build(seed)
    many = Draws(*(np.repeat(column, times, axis=0) for column in draws))
    if times > 1:
        many = many._replace(key=np.random.default_rng(seed).integers(1, 2**62, TRIALS * times))
    results = play(arrays_of(inputs, Learned(inputs)), many)
    waits = results["waited"].sum(axis=1)
    return np.column_stack([results["finish"], results["hours"], waits]).reshape(TRIALS, times, -1).mean(axis=1)


def theirs(seed: int, model: type[Shed] = Shed, trials: int = TRIALS, same: bool = True) -> np.ndarray:
    """Trials × figures of the SimPy model."""
    inputs, draws = build(seed)
    rng = np.random.default_rng([11, seed])
    sheds = [model(inputs, Drawn(draws, trial, rng, same)) for trial in range(trials)]
    return np.array([[shed.play(), *shed.hours, shed.waited] for shed in sheds])


def differences(one: np.ndarray, other: np.ndarray) -> dict[str, str]:
    """The figures whose means differ by more than four standard errors of the difference."""
    found = {}
    for name, a, b in zip(FIGURES, one.T, other.T, strict=True):
        with np.errstate(invalid="ignore"):  # a model that never ends differs too
            gap, error = (a - b).mean(), (a - b).std(ddof=1) / np.sqrt(len(a))
        if not abs(gap) <= max(4 * error, TINY * b.mean()):
            found[name] = f"{a.mean():.4g} h and {b.mean():.4g} h, standard error of the difference {error:.2g} h"
    return found


@pytest.mark.parametrize("seed", range(BUILDS))
def test_with_the_same_chance_both_come_to_the_same_means(seed):
    one, other = ours(seed), theirs(seed)
    assert np.isfinite(one).all(), "two of the crew never leave: every trial ends"
    assert differences(one, other) == {}
    assert (one - other)[:, 0].std(ddof=1) / np.sqrt(TRIALS) < 0.015 * other[:, 0].mean()


def test_with_chance_of_its_own_the_model_comes_to_the_same_means(record_property):
    """All builds together, each trial against the mean of 25 of ours with the same paces: 2 % would be found."""
    pairs = [(theirs(seed, same=False)[:, :5], ours(seed, times=25)[:, :5]) for seed in range(BUILDS)]
    gaps = np.vstack([one / other - 1 for one, other in pairs])
    for name, own in zip(FIGURES[:5], gaps.T, strict=True):
        error = own.std(ddof=1) / np.sqrt(len(own))
        print(f"{name}: {own.mean():+.2%} ± {error:.2%}")
        record_property(name, f"{own.mean():+.2%} ± {error:.2%}")
        assert abs(own.mean()) < 4 * error < 0.04


class NobodyIsTooMany(Shed):
    def room(self, stage, hands):
        return True


class NobodyLearns(Shed):
    def practice(self, me, stage):
        return 0.0


class EarlierStagesFirst(Shed):
    stages = Shed.stages[::-1]


class HandsNeverTire(Shed):
    def tired(self, me, stage):
        return False


class TestsGoAnywhere(Shed):
    __test__ = False

    def may(self, task):
        ahead, self.ahead[task.number] = self.ahead[task.number], set()
        found = super().may(task)
        self.ahead[task.number] = ahead
        return found


class NothingCloses(Shed):
    def _closing(self, number):
        return False


class AlwaysComes(Shed):
    def _shifts(self, number):
        return iter(self.to_come(number))


class WhatTheyHadIsTheirs(Shed):
    def hand_over(self, me):
        pass


WRONG = [
    NobodyIsTooMany,
    NobodyLearns,
    EarlierStagesFirst,
    HandsNeverTire,
    TestsGoAnywhere,
    NothingCloses,
    AlwaysComes,
    WhatTheyHadIsTheirs,
]


@pytest.mark.parametrize("model", WRONG)
def test_a_model_with_a_wrong_rule_is_found_out(model):
    few = TRIALS // 2
    assert any(differences(ours(seed)[:few], theirs(seed, model, few)) for seed in (0, 1, 3, 8))
