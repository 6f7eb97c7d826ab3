"""Compiled: trials of a crew at work, event by event, each helper's next event in a heap.

Helpers come when they said they would (and do come), take work by the rules, stop when the shift ends and go on at
the next one. Nothing here knows dates: hours after as-of only.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit, prange

from buildlog.core.forecast.chance import COMES, PIECE, normal, uniform
from buildlog.core.forecast.compiled import step
from buildlog.core.forecast.heaps import pop, reschedule
from buildlog.core.forecast.opening import complete, free_jobs, hold, mended, nudge, passed_fault, put, set_stage
from buildlog.core.forecast.tables import (
    ACTIVE,
    AT_COLUMNS,
    AWAY,
    BLOCKED_N,
    BUSY,
    COUNTERS,
    CURVE,
    DAY,
    DAY_OF,
    END,
    FAIL,
    GATHER,
    GATHER_N,
    GATHERING,
    HANDS,
    HELD,
    IDLE,
    IDLE_N,
    IN_BLOCKED,
    IN_IDLE,
    JOB,
    JOB_BUSY,
    JOB_HANDS,
    JOB_LEFT,
    JOBS_LEFT,
    KEEP,
    KIND,
    KINDS,
    KNOWN,
    LOGGED,
    MATE_OF,
    MEMBERS,
    MEND,
    MEND_AT,
    MEND_CENTRE,
    MEND_SPREAD,
    MENDING,
    NEXT,
    NUDGES,
    ON_SHIFT,
    PACE,
    PATH,
    PLACE,
    POOL,
    PRACTICE,
    PRACTISED,
    QUEUE,
    REASONS,
    ROOM_TO,
    SHIFT,
    SHIFT_FROM,
    SHIFT_TO,
    SIGMA,
    SINCE,
    SKILL,
    SPARE,
    STAGE_LEFT,
    START,
    STATE,
    STATE_COLUMNS,
    TEAM,
    TODO,
    UNIT,
    UNTIL,
    USED,
    USED_BEFORE,
    WHEN,
    WHO_COLUMNS,
    WHY,
    WORK,
    Log,
    Luck,
    Scene,
    Trial,
)
from buildlog.core.forecast.taking import find_work, first_ready, has_room, wait

TINY = 1e-9
ROWS = 2 * KINDS + 8  # one result row: finish, missing, KINDS hours, KINDS of the longest chain, 6 waits


@njit(cache=True)
def new_trial(w: Scene) -> Trial:
    """Empty state for one trial."""
    segments, crew, channels = len(w.seg), len(w.crew), len(w.chain_from) - 1
    assigned = w.crew[crew - 1, ROOM_TO] if crew else 0
    who = np.zeros((crew, WHO_COLUMNS), np.int64)
    at = np.zeros((crew, AT_COLUMNS))
    for helper in range(crew):
        who[helper, SHIFT] = w.crew[helper, SHIFT_FROM] - 1
        who[helper, DAY] = who[helper, HELD] = who[helper, MEND_AT] = who[helper, MATE_OF] = -1
        who[helper, QUEUE] = who[helper, PLACE] = helper
        who[helper, TEAM] = 1
        at[helper, USED] = w.crew_hours[helper, USED_BEFORE]
        at[helper, PRACTICE : PRACTICE + 4] = w.crew_hours[helper, PRACTISED:]
    num = np.zeros(COUNTERS, np.int64)
    num[GATHER : GATHER + 5] = -1
    heap = np.empty(8 * segments + 4 * assigned + 12 * crew + SPARE, np.int64)
    state = np.zeros((segments, STATE_COLUMNS), np.int64)
    return Trial(
        w.left.copy(),
        state,
        np.zeros(channels, np.int64),
        heap,
        who,
        at,
        np.zeros((len(w.job), 3)),
        num,
        np.zeros(KINDS + REASONS),
    )


@step
def follow(z: Trial, helper: int, source: int) -> None:
    """What the helper does next could not begin before ``source`` got there."""
    for kind in range(KINDS):
        z.at[helper, PATH + kind] = z.at[source, PATH + kind]


@step
def leave(w: Scene, luck: Luck, z: Trial, t: int, helper: int) -> None:
    """The shift is over: wait for the next one in which the helper comes, or for none."""
    if z.who[helper, STATE] != AWAY:
        for stage in range(4):
            z.num[ON_SHIFT + stage] -= 1 if w.crew[helper, SKILL + stage] else 0
    z.who[helper, STATE] = AWAY
    at = z.who[helper, SHIFT] + 1
    last = w.crew[helper, SHIFT_TO]
    while at < last and not comes(w, luck, t, helper, at):
        at += 1
    z.who[helper, SHIFT] = at
    if at < last:
        reschedule(z.who, z.at, helper, w.shift[at, START])
        return
    reschedule(z.who, z.at, helper, math.inf)
    while z.who[helper, HELD] >= 0:  # never back: others go on
        code = z.who[helper, HELD]
        z.who[helper, HELD] = z.seg[code // 4, NEXT + code % 4]
        put(w, z, code // 4, code % 4)


@step
def comes(w: Scene, luck: Luck, t: int, helper: int, shift: int) -> bool:
    """Is the helper there on the day of a shift?"""
    if w.shift[shift, KNOWN] > 0.0:
        return True
    return uniform(luck.key[t], COMES, w.shift[shift, DAY_OF] * 4096 + helper) < luck.comes[t, helper]


@step
def arrive(w: Scene, z: Trial, helper: int) -> None:
    """A shift begins."""
    at = z.who[helper, SHIFT]
    z.at[helper, UNTIL] = w.shift[at, END]
    if w.shift[at, DAY_OF] != z.who[helper, DAY]:
        if w.shift[at, DAY_OF] != 0:  # day 0 is that of as-of: what was populated then counts
            z.at[helper, USED] = 0.0
        z.who[helper, DAY] = w.shift[at, DAY_OF]
    z.who[helper, STATE] = IDLE
    z.at[helper, SINCE] = w.shift[at, START]
    for stage in range(4):
        z.num[ON_SHIFT + stage] += 1 if w.crew[helper, SKILL + stage] else 0


@step
def stop(w: Scene, luck: Luck, z: Trial, log: Log, t: int, now: float, helper: int) -> None:
    """A chunk of work ends, finished or not: count it, and put back what is left."""
    kind, work, hands = z.who[helper, KIND], z.who[helper, WORK], z.who[helper, TEAM]
    spent = now - z.at[helper, SINCE]
    units = spent * z.at[helper, PACE]
    z.hours[kind] += spent * hands
    write(z, log, now, helper, units)
    member = helper
    while member >= 0:
        z.at[member, PATH + kind] += spent
        if kind < JOB:
            z.at[member, PRACTICE + kind] += units / hands
        if kind == 0:
            z.at[member, USED] += spent
        member = z.who[member, MATE_OF]
    if kind < JOB:
        z.num[ACTIVE + kind] -= hands
        z.left[work, kind] -= units
        if z.left[work, kind] <= TINY * w.left[work, kind]:
            complete(w, luck, z, t, helper, work, kind)
        elif luck.once[t, KEEP] > 0.0 and hands == 1:
            hold(z, helper, work, kind)
        else:
            put(w, z, work, kind)
    elif kind == JOB:
        z.job[work, JOB_BUSY] = False
        z.job[work, JOB_LEFT] -= units
        if z.job[work, JOB_LEFT] <= TINY * luck.job_hours[t, work]:
            z.job[work, JOB_LEFT] = 0.0
            z.num[TODO] -= 1
            z.num[JOBS_LEFT] -= 1
            free_jobs(w, z, work)
    else:
        z.at[helper, MENDING] -= units
        if z.at[helper, MENDING] <= TINY:
            finish_mending(w, z, helper, work)


@step
def finish_mending(w: Scene, z: Trial, helper: int, work: int) -> None:
    """Rework after a test, or a fault that was open from the start."""
    if work >= 0:
        mended(w, z, helper)
        return
    z.at[helper, MENDING] = 0.0
    z.num[TODO] -= 1
    passed_fault(w, z)


@step
def write(z: Trial, log: Log, now: float, helper: int, units: float) -> None:
    """Keep a line for each pair of hands while there is room."""
    member = helper
    while member >= 0 and z.num[LOGGED] < len(log.what):
        at = z.num[LOGGED]
        log.what[at, 0], log.what[at, 1], log.what[at, 2] = member, z.who[helper, KIND], z.who[helper, WORK]
        log.time[at, 0], log.time[at, 1], log.time[at, 2] = z.at[helper, SINCE], now, units / z.who[helper, TEAM]
        z.num[LOGGED] = at + 1
        member = z.who[member, MATE_OF]


@step
def scatter(w: Scene, z: Trial, helper: int) -> None:
    """Somebody who waited for more hands has to go: the others look for other work."""
    kind, work = z.who[helper, KIND], z.who[helper, WORK]
    hands = w.seg[work, HANDS + kind] if kind < JOB else w.job[work, JOB_HANDS]
    if z.num[GATHER + kind] != work:
        return
    z.num[GATHER + kind] = -1
    if kind < JOB:
        z.num[ACTIVE + kind] -= hands
        put(w, z, work, kind)
    else:
        z.job[work, JOB_BUSY] = False
    for at in range(z.num[GATHER_N + kind]):
        member = z.num[MEMBERS + 8 * kind + at]
        z.who[member, STATE] = IDLE
        nudge(z, member)


@step
def look(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int) -> None:
    """Free and there: work, wait, or go when the shift is over."""
    if now >= z.at[helper, UNTIL] - TINY:
        leave(w, luck, z, t, helper)
    elif not find_work(w, luck, z, t, now, helper):
        wait(w, z, now, helper)


@step
def call(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int, source: int) -> bool:
    """Somebody who waits looks again, because of what ``source`` just did. True when they found work."""
    if z.who[helper, STATE] != IDLE or now >= z.at[helper, UNTIL] - TINY:
        return False
    why, waited = z.who[helper, WHY], now - z.at[helper, SINCE]
    if not find_work(w, luck, z, t, now, helper):
        wait_on(w, z, helper)
        return False
    z.hours[KINDS + why] += waited
    if source != helper and waited > TINY:
        follow(z, helper, source)
    return True


@step
def wait_on(w: Scene, z: Trial, helper: int) -> None:
    """Still nothing: go on waiting since when it was."""
    since, why = z.at[helper, SINCE], z.who[helper, WHY]
    wait(w, z, since, helper)
    z.who[helper, WHY] = why


@step
def call_waiting(w: Scene, luck: Luck, z: Trial, t: int, now: float, source: int) -> None:
    """Whatever has become open is offered to those who wait, later stages first."""
    crew = len(z.who)
    while z.num[NUDGES] > 0:
        z.num[NUDGES] -= 1
        call(w, luck, z, t, now, z.heap[len(z.heap) - 4 * crew - SPARE + z.num[NUDGES]], source)
    for stage in range(3, -1, -1):
        while z.num[BLOCKED_N + stage] > 0 and has_room(w, z, stage, 1):
            helper = pop(z.heap, len(z.heap) - SPARE - (8 - stage) * crew, z.num[BLOCKED_N + stage])
            z.num[BLOCKED_N + stage] -= 1
            z.who[helper, IN_BLOCKED + stage] = False
            call(w, luck, z, t, now, helper, source)
        while z.num[IDLE_N + stage] > 0 and (z.num[GATHER + stage] >= 0 or first_ready(w, luck, z, t, stage) >= 0):
            helper = pop(z.heap, len(z.heap) - SPARE - (12 - stage) * crew, z.num[IDLE_N + stage])
            z.num[IDLE_N + stage] -= 1
            z.who[helper, IN_IDLE + stage] = False
            if z.who[helper, STATE] == IDLE and not call(w, luck, z, t, now, helper, source):
                break


@step
def event(w: Scene, luck: Luck, z: Trial, log: Log, t: int, now: float, helper: int) -> None:
    """The next thing that happens happens to this helper."""
    state = z.who[helper, STATE]
    if state == BUSY:
        stop(w, luck, z, log, t, now, helper)
        if z.num[TODO] == 0:
            return
        member = helper
        while member >= 0:
            following = z.who[member, MATE_OF]
            z.who[member, MATE_OF] = -1
            z.who[member, STATE] = IDLE
            follow(z, member, helper)
            look(w, luck, z, t, now, member)
            member = following
    elif state == AWAY:
        arrive(w, z, helper)
        look(w, luck, z, t, now, helper)
    else:
        if state == GATHERING:
            scatter(w, z, helper)
        else:
            z.hours[KINDS + z.who[helper, WHY]] += now - z.at[helper, SINCE]
        leave(w, luck, z, t, helper)
    call_waiting(w, luck, z, t, now, helper)


@njit(cache=True)
def missing(w: Scene, luck: Luck, z: Trial, t: int) -> float:
    """Person-hours that are left when nobody comes any more; adds them to the hours by kind."""
    total = 0.0
    for stage in range(4):
        if z.num[STAGE_LEFT + stage] == 0:
            continue
        effort = crew_effort(w, luck, z, t, stage)
        for seg in range(len(w.seg)):
            if z.left[seg, stage] > 0.0:
                size = luck.stage[t, stage, SIGMA] * normal(luck.key[t], PIECE, 4 * seg + stage)
                hours = z.left[seg, stage] * effort * math.exp(size)
                z.hours[stage] += hours
                total += hours
    for job in range(len(w.job)):
        z.hours[JOB] += z.job[job, JOB_LEFT]
        total += z.job[job, JOB_LEFT]
    mends = z.num[STAGE_LEFT + 3] * luck.once[t, FAIL] + z.num[POOL]
    hours = mends * math.exp(luck.once[t, MEND_CENTRE] + 0.5 * luck.once[t, MEND_SPREAD] ** 2) + z.at[:, MENDING].sum()
    z.hours[MEND] += hours
    return total + hours


@step
def crew_effort(w: Scene, luck: Luck, z: Trial, t: int, stage: int) -> float:
    """Person-hours per unit of those who can do a stage; of everybody where nobody can."""
    total, count, everybody = 0.0, 0, 0.0
    crew = len(w.crew)
    for helper in range(crew):
        log = luck.effort[t, helper, stage]
        log += luck.stage[t, stage, CURVE] * math.log1p(z.at[helper, PRACTICE + stage] / w.stage[stage, UNIT])
        everybody += math.exp(log)
        if w.crew[helper, SKILL + stage]:
            total += math.exp(log)
            count += 1
    return total / count if count else everybody / crew


@njit(cache=True)
def one_trial(w: Scene, luck: Luck, log: Log, t: int, row: np.ndarray) -> int:
    """Play one trial into a result row; the number of chunks of work logged."""
    z = new_trial(w)
    set_stage(w, luck, z, t)
    for helper in range(len(w.crew)):
        leave(w, luck, z, t, helper)
    row[:] = 0.0
    row[0] = math.inf if z.num[TODO] > 0 else 0.0
    while z.num[TODO] > 0:
        helper = z.who[0, QUEUE]
        now = z.at[helper, WHEN]
        if now == math.inf:
            row[1] = missing(w, luck, z, t)
            break
        event(w, luck, z, log, t, now, helper)
        if z.num[TODO] == 0:
            row[0] = now
            row[2 + KINDS : 2 + 2 * KINDS] = z.at[helper, PATH : PATH + KINDS]
    row[2 : 2 + KINDS] = z.hours[:KINDS]
    row[2 + 2 * KINDS :] = z.hours[KINDS:]
    return z.num[LOGGED]


@njit(cache=True, parallel=True)
def play(w: Scene, luck: Luck, log: Log) -> np.ndarray:
    """All trials, one result row each: finish [h after as-of, inf = never], person-hours missing, person-hours by
    kind, hours by kind on the longest chain of waiting, idle hours by reason."""
    rows = np.zeros((len(luck.key), ROWS))
    for t in prange(len(luck.key)):
        one_trial(w, luck, log, t, rows[t])
    return rows
