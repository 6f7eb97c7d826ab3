"""Whatever a small build is like, the log of a trial adds up: all work is done once, by people who are there."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.records import JOB, KINDS
from buildlog.core.forecast.simulate.run import play
from buildlog.core.forecast.simulate.state import Draws, no_log
from buildlog.core.work.stages import STAGE_COUNT
from tests.published.crews import drawn, random_build

SEEDS = range(12)
SAME_H = 1e-6


@cache
def played(seed: int) -> tuple[ForecastInput, Draws, np.void, np.ndarray]:
    """Input, chance, result and log of one trial."""
    inputs = random_build(seed)
    draws = drawn(inputs, 1, np.random.default_rng([20, seed]))
    log = no_log(8000)
    (result,) = play(arrays_of(inputs, Learned(inputs)), draws, log)
    return inputs, draws, result, log[log["end"] > 0]


def of_kind(log: np.ndarray, kind: int) -> np.ndarray:
    return log[log["kind"] == kind]


@pytest.mark.parametrize("seed", SEEDS)
def test_every_unit_left_is_done_and_none_twice(seed):
    inputs, draws, result, log = played(seed)
    assert np.isfinite(result["finish"])
    for stage in range(STAGE_COUNT):
        own = of_kind(log, stage)
        done = np.bincount(own["work"], own["units"], len(inputs.segments))
        assert done == pytest.approx([segment.left(stage) for segment in inputs.segments], abs=1e-6)
    jobs = of_kind(log, JOB)
    assert np.bincount(jobs["work"], jobs["units"], len(inputs.jobs)) == pytest.approx(draws.job_hours[0], abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_hours_are_those_of_the_log_and_the_last_one_is_the_finish(seed):
    _, _, result, log = played(seed)
    hours = np.bincount(log["kind"], log["end"] - log["start"], KINDS)
    assert result["hours"] == pytest.approx(hours, rel=1e-6, abs=1e-6)
    assert result["finish"] == pytest.approx(log["end"].max())
    assert result["path"].sum() >= 0 and np.all(result["waited"] >= 0)


@pytest.mark.parametrize("seed", SEEDS)
def test_everybody_is_in_one_place_within_their_shifts_and_skills(seed):
    inputs, _, _, log = played(seed)
    for number, helper in enumerate(inputs.helpers):
        own = np.sort(log[log["helper"] == number], order="start")
        assert all(after["start"] >= before["end"] - SAME_H for before, after in pairwise(own))
        for chunk in own:
            assert any(
                shift.start - inputs.as_of - SAME_H <= chunk["start"]
                and chunk["end"] <= shift.end - inputs.as_of + SAME_H
                for shift in helper.shifts
            )
        stages = {("populate", "mount", "wire", "test")[kind] for kind in own["kind"] if kind < JOB}
        assert stages <= set(helper.skills)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_stage_has_more_people_than_fit(seed):
    inputs, _, _, log = played(seed)
    for stage, limit in enumerate(inputs.people):
        own = of_kind(log, stage)
        moves = sorted([(start, 1) for start in own["start"]] + [(end - SAME_H, -1) for end in own["end"]])
        most = max(np.cumsum([step for _, step in moves]), default=0)
        assert limit is None or most <= limit


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stage_of_a_segment_begins_when_the_one_before_is_done(seed):
    inputs, _, _, log = played(seed)
    for number, segment in enumerate(inputs.segments):
        own = log[(log["work"] == number) & (log["kind"] < JOB)]
        order = (0, 2, 1, 3) if segment.closing else (0, 1, 2, 3)
        for before, after in pairwise(order):
            earlier, later = own[own["kind"] == before], own[own["kind"] == after]
            if len(earlier) and len(later):
                assert earlier["end"].max() <= later["start"].min() + SAME_H
