"""Our trials without chance against the best of all plans, on builds small enough for a general solver.

Second opinion: OR-Tools CP-SAT, which is told the rules on its own (``small_builds``).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import World
from tests.published.small_builds import Plans, SmallBuild, small_build

BUILDS = 24


@pytest.fixture(scope="module")
def builds() -> list[SmallBuild]:
    return [small_build(seed, alike) for alike in (False, True) for seed in range(BUILDS)]


@pytest.fixture(scope="module")
def optima(builds) -> list[int]:
    return [Plans(build).best() for build in builds]


def test_ours_is_never_below_the_optimum_and_the_mean_gap_is_said(builds, optima, record_property):
    finishes = np.array([build.play().finish * 60 for build in builds])
    gaps = finishes / optima - 1
    assert gaps.min() > -1e-9
    for name, own in ("helpers who differ up to fourfold", gaps[:BUILDS]), ("helpers alike", gaps[BUILDS:]):
        print(f"{len(own)} small builds, {name}: finish {own.mean():.0%} above the optimum on average")
        record_property(name, float(own.mean()))
    assert np.mean(gaps[BUILDS:] < 1e-9) > 0.1, "taking the first that may be done is sometimes the best there is"


def test_what_ours_does_is_one_of_the_plans_that_the_rules_allow(builds):
    for build in builds:
        assert Plans(build).allows(build.play())


BROKEN = {
    "room for everybody": lambda world: replace(world, people=(None,) * 4),
    "nothing closes": lambda world: replace(world, pieces=tuple(replace(p, closing=False) for p in world.pieces)),
    "no data along the chain": lambda world: replace(
        world,
        pieces=tuple(
            replace(piece, runs=tuple(replace(run, channel=100 * n + run.channel) for run in piece.runs))
            for n, piece in enumerate(world.pieces)
        ),
    ),
    "one pair of hands is enough": lambda world: replace(
        world, pieces=tuple(replace(piece, hands=(1, 1, 1, 1)) for piece in world.pieces)
    ),
    "everybody can do everything": lambda world: replace(
        world, helpers=tuple(replace(helper, skills=world.helpers[0].skills) for helper in world.helpers)
    ),
    "segments are nobody's": lambda world: replace(
        world, pieces=tuple(replace(piece, assigned=None) for piece in world.pieces)
    ),
    "jobs wait for nothing": lambda world: replace(world, jobs=tuple(replace(job, after=()) for job in world.jobs)),
}


@pytest.mark.parametrize("rule", BROKEN)
def test_a_trial_that_forgets_a_rule_is_found(rule, builds):
    """The check above can fail: without any one of the rules, some plan is none that the rules allow."""
    forget = BROKEN[rule]

    def found(build: SmallBuild) -> bool:
        world: World = forget(build.world)
        return world != build.world and not Plans(build).allows(build.play(world))

    assert any(found(build) for build in builds)
