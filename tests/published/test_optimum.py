"""Our trials without chance against the best of all plans, on builds small enough for a general solver.

Second opinion: OR-Tools CP-SAT, which is told the rules on its own (``small_builds``).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput
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
    "room for everybody": lambda inputs: replace(inputs, people=(None,) * 4),
    "nothing closes": lambda inputs: replace(
        inputs, segments=tuple(replace(p, closing=False) for p in inputs.segments)
    ),
    "no data along the chain": lambda inputs: replace(
        inputs,
        segments=tuple(
            replace(segment, runs=tuple(replace(run, channel=100 * n + run.channel) for run in segment.runs))
            for n, segment in enumerate(inputs.segments)
        ),
    ),
    "one pair of hands is enough": lambda inputs: replace(
        inputs, segments=tuple(replace(segment, hands=(1, 1, 1, 1)) for segment in inputs.segments)
    ),
    "everybody can do everything": lambda inputs: replace(
        inputs, helpers=tuple(replace(helper, skills=inputs.helpers[0].skills) for helper in inputs.helpers)
    ),
    "segments are nobody's": lambda inputs: replace(
        inputs, segments=tuple(replace(segment, assigned=None) for segment in inputs.segments)
    ),
    "jobs wait for nothing": lambda inputs: replace(inputs, jobs=tuple(replace(job, after=()) for job in inputs.jobs)),
}


@pytest.mark.parametrize("rule", BROKEN)
def test_a_trial_that_forgets_a_rule_is_found(rule, builds):
    """The check above can fail: without any one of the rules, some plan is none that the rules allow."""
    forget = BROKEN[rule]

    def found(build: SmallBuild) -> bool:
        inputs: ForecastInput = forget(build.inputs)
        return inputs != build.inputs and not Plans(build).allows(build.play(inputs))

    assert any(found(build) for build in builds)
