"""All trials of one input, shared among the processors."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from buildlog.core.forecast.simulate.compiled import whole
from buildlog.core.forecast.simulate.events import run
from buildlog.core.forecast.simulate.heaps import heap_room
from buildlog.core.forecast.simulate.records import COMMON, KINDS, REASONS, STAGE_STATE, Records
from buildlog.core.forecast.simulate.release_work import open_segments
from buildlog.core.forecast.simulate.state import BuildArrays, Draws, Trial, no_log, no_results
from buildlog.core.work.stages import STAGE_COUNT

SHARE = 64  # trials that are worth handing to a thread


@whole
def beginning(w: BuildArrays, keeps: int) -> Trial:
    """What is open as a trial begins, the same in all of them, whether begun work is kept (1) or anybody's (0)."""
    helpers, stages, common = w.helpers.copy(), np.zeros(STAGE_COUNT, STAGE_STATE), np.zeros(1, COMMON)
    queue = np.arange(len(helpers))
    for helper in range(len(helpers)):
        helpers[helper].place = helper
    for kind in range(KINDS):
        common[0].gathering[kind] = -1
    common[0].keeps, common[0].stop_at_limit = keeps, w.stop_at_limit
    for stage in range(STAGE_COUNT):
        stages[stage].practice_unit = w.stages[stage].practice_unit
        stages[stage].small_units = w.stages[stage].small_units
        stages[stage].people_limit = w.stages[stage].people_limit
    heap = np.empty(heap_room(len(w.segments), len(helpers), w.own), np.int64)
    segments, channels, chain, of = w.segments.copy(), w.channels.copy(), w.chain, w.segment_channels
    z = Trial(
        segments, helpers, queue, w.shifts, channels, chain, of, w.jobs, w.job_skill, w.job_after, stages, heap, common
    )
    open_segments(z)
    return z


@whole
def room_for(z: Trial) -> Trial:
    """Arrays for a trial, used again for each: those of a large build would come fresh from the system each time."""
    segments, helpers, queue, channels = z.segments.copy(), z.helpers.copy(), z.queue.copy(), z.channels.copy()
    jobs, stages, heap, common = z.jobs.copy(), z.stages.copy(), z.heap.copy(), z.common.copy()
    chain, of = z.chain, z.segment_channels
    return Trial(
        segments, helpers, queue, z.shifts, channels, chain, of, jobs, z.job_skill, z.job_after, stages, heap, common
    )


@whole
def set_up(z: Trial, begun: Trial, draws: Draws, t: int) -> None:
    """Make z the state of trial t before anything happens."""
    z.segments[:], z.helpers[:], z.queue[:], z.channels[:] = begun.segments, begun.helpers, begun.queue, begun.channels
    z.jobs[:], z.stages[:], z.heap[:], z.common[:] = begun.jobs, begun.stages, begun.heap, begun.common
    for number in range(len(z.helpers)):
        helper = z.helpers[number]
        helper.attendance, helper.days_left = draws.attendance[t, number], draws.days_left[t, number]
        for stage in range(STAGE_COUNT):
            helper.effort[stage] = draws.effort[t, number, stage]
    for number in range(len(z.jobs)):
        z.jobs[number].left = z.jobs[number].initial = draws.job_hours[t, number]
    for stage in range(STAGE_COUNT):
        drawn, rates = draws.stages[t, stage], z.stages[stage]
        rates.curve, rates.growth, rates.fatigue = drawn.curve, drawn.growth, drawn.fatigue
        rates.sigma, rates.omega = drawn.sigma, drawn.omega
    once, common = draws.once[t], z.common[0]
    common.key, common.in_order, common.pause = draws.key[t], once.in_order, once.pause
    common.failure_rate, common.mend_centre, common.mend_spread = once.failure_rate, once.mend_centre, once.mend_spread
    common.own_part, common.shared_part = math.sqrt(1.0 - once.shared_part), math.sqrt(once.shared_part)


@whole
def play_some(w: BuildArrays, draws: Draws, log: Records, results: Records, begin: int, end: int) -> int:
    """Play the trials begin…end−1 into their results; the number of chunks of work logged in the last."""
    logged, beginnings = 0, (beginning(w, 0), beginning(w, 1))
    z = room_for(beginnings[0])
    for t in range(begin, end):
        set_up(z, beginnings[draws.once[t].keeps], draws, t)
        last = run(z, log, results, t)
        for kind in range(KINDS):
            results[t].hours[kind] = z.common[0].hours[kind]
            results[t].path[kind] = z.helpers[last].path[kind] if last >= 0 else 0.0
        for reason in range(REASONS):
            results[t].waited[reason] = z.common[0].waited[reason]
        logged = z.common[0].logged
    return logged


def play(w: BuildArrays, draws: Draws, log: Records | None = None) -> Records:
    """All trials, shared among the processors: a RESULT for each.

    The processors share nothing and chance does not depend on order, so their number does not change a bit.
    """
    trials = len(draws.key)
    results = no_results(trials)
    if log is not None or trials <= SHARE:
        play_some(w, draws, no_log() if log is None else log, results, 0, trials)
        return results
    with ThreadPoolExecutor() as pool:
        parts = [
            pool.submit(play_some, w, draws, no_log(), results, begin, min(begin + SHARE, trials))
            for begin in range(0, trials, SHARE)
        ]
    for part in parts:
        part.result()
    return results
