"""All trials of one scene, shared among the processors."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from buildlog.core.forecast.simulate.compiled import whole
from buildlog.core.forecast.simulate.events import run
from buildlog.core.forecast.simulate.release_work import set_out
from buildlog.core.forecast.simulate.state import (
    BY_STAGE,
    COMES_SCORE,
    COUNTERS,
    DAY_PART,
    EFFORT,
    F8,
    FAIL,
    GATHER,
    IN_ORDER,
    JOB_LEFT,
    JOB_WHOLE,
    KEEP,
    KEY,
    KINDS,
    LOGGED,
    OWN_PART,
    PATH,
    PAUSE,
    PLACE,
    QUEUE,
    REASONS,
    ROW,
    STAYS,
    STOP,
    TOTALS,
    WAITED,
    BuildArrays,
    Draws,
    Log,
    Trial,
    no_log,
)

SHARE = 64  # trials that are worth handing to a thread
RESULTS = 2 + 2 * KINDS + REASONS  # finish, missing, KINDS hours, KINDS of the longest chain, waits by reason


@whole
def beginning(w: BuildArrays, keep: int) -> Trial:
    """What is open as a trial begins, the same in all of them, whether begun work is kept (1) or anybody's (0)."""
    who, num, tot = w.who.copy(), np.zeros(COUNTERS, np.int64), np.zeros(TOTALS)
    for helper in range(len(who)):
        who[helper, QUEUE] = who[helper, PLACE] = helper
    for kind in range(5):
        num[GATHER + kind] = -1
    num[KEEP], num[STOP] = keep, w.stop_at_limit
    for stage in range(4):
        for column in range(3):
            tot[BY_STAGE + ROW * stage + column] = w.stage[stage, column]
    heap = np.empty(8 * len(w.seg) + 8 * w.assigned + 9 * len(who), np.int64)
    seg, left, chan = w.seg.copy(), w.left.copy(), w.chan.copy()
    z = Trial(seg, left, who, w.at, w.shift, chan, w.run, w.job, w.job_skill, w.job_after, heap, num, tot)
    set_out(z)
    return z


@whole
def room_for(z: Trial) -> Trial:
    """Arrays for a trial, used again for each: those of a large build would come fresh from the system each time."""
    who, at, job, num, tot = z.who.copy(), z.at.copy(), z.job.copy(), z.num.copy(), z.tot.copy()
    seg, left, chan, heap = z.seg.copy(), z.left.copy(), z.chan.copy(), z.heap.copy()
    return Trial(seg, left, who, at, z.shift, chan, z.run, job, z.job_skill, z.job_after, heap, num, tot)


@whole
def set_up(z: Trial, begun: Trial, draws: Draws, t: int) -> None:
    """Make z the state of trial t before anything happens."""
    z.seg[:], z.left[:], z.who[:], z.at[:], z.chan[:] = begun.seg, begun.left, begun.who, begun.at, begun.chan
    z.job[:], z.heap[:], z.num[:], z.tot[:] = begun.job, begun.heap, begun.num, begun.tot
    for helper in range(len(z.who)):
        z.at[helper, COMES_SCORE] = draws.comes[t, helper]
        z.at[helper, STAYS] = draws.leaves[t, helper]
        for stage in range(4):
            z.at[helper, EFFORT + stage] = draws.effort[t, helper, stage]
    for number in range(len(z.job)):
        z.job[number, JOB_LEFT] = z.job[number, JOB_WHOLE] = draws.job_hours[t, number]
    z.num[KEY], z.num[IN_ORDER] = draws.key[t], int(draws.once[t, 4])
    for stage in range(4):
        for column in range(5):
            z.tot[BY_STAGE + ROW * stage + 3 + column] = draws.stage[t, stage, column]
    for column in range(3):
        z.tot[FAIL + column] = draws.once[t, column]
    z.tot[PAUSE] = draws.once[t, 5]
    z.tot[OWN_PART], z.tot[DAY_PART] = math.sqrt(1.0 - draws.once[t, 6]), math.sqrt(draws.once[t, 6])


@whole
def play_some(w: BuildArrays, draws: Draws, log: Log, rows: F8, begin: int, end: int) -> int:
    """Play the trials begin…end−1 into their result rows; the number of chunks of work logged in the last."""
    logged, beginnings = 0, (beginning(w, 0), beginning(w, 1))
    z = room_for(beginnings[0])
    for t in range(begin, end):
        set_up(z, beginnings[int(draws.once[t, 3])], draws, t)
        last = run(z, log, rows, t)
        for kind in range(KINDS):
            rows[t, 2 + kind] = z.tot[kind]
            rows[t, 2 + KINDS + kind] = z.at[last, PATH + kind] if last >= 0 else 0.0
        for why in range(REASONS):
            rows[t, 2 + 2 * KINDS + why] = z.tot[WAITED + why]
        logged = z.num[LOGGED]
    return logged


def play(w: BuildArrays, draws: Draws, log: Log | None = None) -> F8:
    """All trials, shared among the processors, one result row each: finish [h after as-of, inf = never], person-hours
    missing, person-hours by kind, hours by kind on the longest chain of waiting, idle hours by reason.

    The processors share nothing and chance does not depend on order, so their number does not change a bit.
    """
    trials = len(draws.key)
    rows = np.zeros((trials, RESULTS))
    if log is not None or trials <= SHARE:
        play_some(w, draws, log or no_log(), rows, 0, trials)
        return rows
    with ThreadPoolExecutor() as pool:
        parts = [
            pool.submit(play_some, w, draws, no_log(), rows, begin, min(begin + SHARE, trials))
            for begin in range(0, trials, SHARE)
        ]
    for part in parts:
        part.result()
    return rows
