"""Compiled: trials of a crew at work, event by event, each helper's next event in a heap.

Helpers come when they said they would (and do come), take work by the rules, stop when the shift ends and go on at
the next one. Nothing here knows dates: hours after as-of only.
"""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.attendance import arrive, go
from buildlog.core.forecast.simulate.choose_work import at_limit, choose, first_ready, has_room, start, wait
from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.effort import hardness, practised
from buildlog.core.forecast.simulate.heaps import pop, reschedule
from buildlog.core.forecast.simulate.release_work import (
    call_short,
    call_skilled,
    complete,
    free_jobs,
    hold,
    look_later,
    mended,
    open_jobs,
    put,
)
from buildlog.core.forecast.simulate.state import (
    ACTIVE,
    AWAY,
    BLOCKED_N,
    BUSY,
    BY_STAGE,
    F8,
    FAIL,
    FAILED,
    GATHER,
    GATHER_N,
    GATHERING,
    HANDS,
    IDLE,
    IDLE_N,
    IN_BLOCKED,
    IN_IDLE,
    JOB,
    JOB_BUSY,
    JOB_LEFT,
    JOB_WHOLE,
    JOBS_LEFT,
    KEEP,
    KIND,
    KINDS,
    LOGGED,
    LOOKERS,
    LOOKS,
    MATE_OF,
    MEMBERS,
    MEND,
    MEND_CENTRE,
    MEND_SPREAD,
    MENDING,
    PACE,
    PATH,
    PEOPLE,
    POOL,
    PRACTICE,
    QUEUE,
    ROW,
    SINCE,
    SKILL,
    STAGE_LEFT,
    STATE,
    TEAM,
    TINY,
    TODO,
    UNTIL,
    USED,
    WAITED,
    WHEN,
    WHOLE,
    WHY,
    WORK,
    WORKED,
    Log,
    Trial,
)


@step
def stop(z: Trial, log: Log, now: float, helper: int) -> None:
    """A chunk of work ends, finished or not: count it, and put back what is left."""
    kind, work, hands = z.who[helper, KIND], z.who[helper, WORK], z.who[helper, TEAM]
    spent = now - z.at[helper, SINCE]
    units = spent * z.at[helper, PACE]
    z.tot[kind] += spent * hands
    member = helper
    while member >= 0:
        write(z, log, now, helper, member, units / hands)
        z.at[member, PATH + kind] += spent
        z.at[member, WORKED] += spent
        if kind < JOB:
            z.at[member, PRACTICE + kind] += units / hands
        if kind == 0:
            z.at[member, USED] += spent
        member = z.who[member, MATE_OF]
    if kind < JOB:
        stop_stage(z, helper, work, kind, units, hands)
    elif kind == JOB:
        stop_job(z, work, units)
    else:
        z.at[helper, MENDING] -= units
        if z.at[helper, MENDING] <= TINY:
            mended(z, helper)


@step
def stop_stage(z: Trial, helper: int, seg: int, stage: int, units: float, hands: int) -> None:
    """A segment is put down at a stage."""
    z.num[ACTIVE + stage] -= hands
    if z.tot[BY_STAGE + ROW * stage + PEOPLE] < math.inf:
        call_short(z)
    z.left[seg, stage] -= units
    if z.left[seg, stage] <= TINY * z.left[seg, WHOLE + stage]:
        complete(z, helper, seg, stage)
    elif z.num[KEEP] > 0 and hands == 1:
        hold(z, helper, seg, stage)
    else:
        put(z, seg, stage)


@step
def stop_job(z: Trial, job: int, units: float) -> None:
    """A job is put down."""
    z.job[job, JOB_BUSY] = 0.0
    z.job[job, JOB_LEFT] -= units
    if z.job[job, JOB_LEFT] <= TINY * z.job[job, JOB_WHOLE]:
        z.job[job, JOB_LEFT] = 0.0
        z.num[TODO] -= 1
        z.num[JOBS_LEFT] -= 1
        free_jobs(z, job)
    else:
        call_skilled(z, job)


@step
def write(z: Trial, log: Log, now: float, leader: int, member: int, units: float) -> None:
    """A line for one pair of hands, while there is room."""
    at = z.num[LOGGED]
    if at < len(log.what):
        log.what[at, 0], log.what[at, 1], log.what[at, 2] = member, z.who[leader, KIND], z.who[leader, WORK]
        log.time[at, 0], log.time[at, 1], log.time[at, 2] = z.at[leader, SINCE], now, units
        z.num[LOGGED] = at + 1


@step
def scatter(z: Trial, now: float, helper: int) -> None:
    """Somebody who waited for more hands has to go: the others look for other work."""
    kind, work = z.who[helper, KIND], z.who[helper, WORK]
    z.num[GATHER + kind] = -1
    call_short(z)
    if kind < JOB:
        z.num[ACTIVE + kind] -= z.seg[work, HANDS + kind]
        put(z, work, kind)
    else:
        z.job[work, JOB_BUSY] = 0.0
    for number in range(z.num[GATHER_N + kind]):
        member = z.num[MEMBERS + 8 * kind + number]
        z.who[member, STATE] = IDLE
        z.at[member, SINCE] = now
        if member != helper:
            look_later(z, member)


@step
def happen(z: Trial, log: Log, now: float, helper: int) -> None:
    """The next thing that happens happens to this helper."""
    state = z.who[helper, STATE]
    if state == BUSY:
        stop(z, log, now, helper)
        member = helper
        while member >= 0:
            following = z.who[member, MATE_OF]
            z.who[member, MATE_OF] = -1
            z.who[member, STATE] = IDLE
            z.at[member, SINCE] = now
            if member != helper or z.at[helper, UNTIL] <= now + TINY:
                reschedule(z.who, z.at, member, z.at[member, UNTIL])
                follow(z, member, helper)
            look_later(z, member)
            member = following
    elif state == AWAY:
        arrive(z, helper)
        reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
        look_later(z, helper)
    else:
        if state == GATHERING:
            scatter(z, now, helper)
        else:
            z.tot[WAITED + z.who[helper, WHY]] += now - z.at[helper, SINCE]
        go(z, helper)


@step
def follow(z: Trial, helper: int, source: int) -> None:
    """What the helper does next could not begin before ``source`` got there."""
    for kind in range(KINDS):
        z.at[helper, PATH + kind] = z.at[source, PATH + kind]


@step
def next_looker(z: Trial) -> int:
    """Who looks for work next: those just freed, those who wait for room, those who wait for what has opened."""
    crew = len(z.who)
    if z.num[LOOKERS] > 0:
        z.num[LOOKERS] -= 1
        helper = pop(z.heap, len(z.heap) - crew, z.num[LOOKERS] + 1)
        z.who[helper, LOOKS] = 0
        return helper
    for stage in range(3, -1, -1):
        if z.num[FAILED] >> stage & 1:
            continue
        if z.num[BLOCKED_N + stage] > 0 and has_room(z, stage, 1):
            helper = pop(z.heap, len(z.heap) - (5 - stage) * crew, z.num[BLOCKED_N + stage])
            z.num[BLOCKED_N + stage] -= 1
            z.who[helper, IN_BLOCKED + stage] = 0
            return helper
        while z.num[IDLE_N + stage] > 0 and (z.num[GATHER + stage] >= 0 or first_ready(z, stage) >= 0):
            helper = pop(z.heap, len(z.heap) - (9 - stage) * crew, z.num[IDLE_N + stage])
            z.num[IDLE_N + stage] -= 1
            z.who[helper, IN_IDLE + stage] = 0
            if z.who[helper, STATE] == IDLE and not (stage == 0 and at_limit(z, helper)):
                z.num[FAILED] |= 1 << stage  # until somebody finds work
                return helper
    return -1


@step
def offer(z: Trial, now: float, source: int) -> None:
    """Whatever is open is offered to those who are free, until nobody takes anything more."""
    z.num[FAILED] = 0
    while True:
        helper = next_looker(z)
        if helper < 0:
            return
        if z.who[helper, STATE] != IDLE:
            continue
        if now >= z.at[helper, UNTIL] - TINY:
            go(z, helper)
            continue
        code = choose(z, now, helper)
        if code < 0:
            wait(z, now, helper)
            continue
        waited = now - z.at[helper, SINCE]
        if waited > TINY:
            z.tot[WAITED + z.who[helper, WHY]] += waited
            follow(z, helper, source)
        z.num[FAILED] = 0
        start(z, now, helper, code)


@step
def missing(z: Trial) -> float:
    """Person-hours that are left when nobody comes any more; adds them to the hours by kind."""
    total = 0.0
    for stage in range(4):
        if z.num[STAGE_LEFT + stage] == 0:
            continue
        usual = crew_effort(z, stage)
        for seg in range(len(z.seg)):
            if z.left[seg, stage] > 0.0:
                hours = z.left[seg, stage] * usual * math.exp(hardness(z, seg, stage))
                z.tot[stage] += hours
                total += hours
    for job in range(len(z.job)):
        z.tot[JOB] += z.job[job, JOB_LEFT]
        total += z.job[job, JOB_LEFT]
    mends = z.num[STAGE_LEFT + 3] * z.tot[FAIL] + z.num[POOL]
    hours = mends * math.exp(z.tot[MEND_CENTRE] + 0.5 * z.tot[MEND_SPREAD] ** 2)
    for helper in range(len(z.who)):
        hours += z.at[helper, MENDING]
    z.tot[MEND] += hours
    return float(total + hours)


@step
def crew_effort(z: Trial, stage: int) -> float:
    """Person-hours per unit of those who can do a stage; of everybody where nobody can; of nobody: the belief."""
    total, count, everybody = 0.0, 0, 0.0
    for helper in range(len(z.who)):
        effort = math.exp(practised(z, helper, stage))
        everybody += effort
        if z.who[helper, SKILL + stage]:
            total += effort
            count += 1
    return total / count if count else everybody / max(1, len(z.who))


@step
def next_time(z: Trial, now: float, helper: int) -> float:
    """When something else happens, the helper aside to whom something has just happened and who may still be first in
    the queue: most find work at once and need no other place in it meanwhile."""
    first = z.who[0, QUEUE]
    if first != helper or z.at[helper, WHEN] > now or z.who[helper, STATE] != IDLE:
        return float(z.at[first, WHEN])
    soonest = math.inf
    for place in range(1, min(3, len(z.who))):
        soonest = min(soonest, z.at[z.who[place, QUEUE], WHEN])
    return soonest


@step
def run(z: Trial, log: Log, rows: F8, t: int) -> int:
    """Play one trial to its end: when it is, what is missing, and who did the last thing (−1: it does not end)."""
    open_jobs(z)
    for helper in range(len(z.who)):
        go(z, helper)
    rows[t, 0] = 0.0 if z.num[TODO] == 0 else math.inf
    last, still, most = -1.0, 0, 1000 + 40 * (len(z.who) + len(z.seg))
    while z.num[TODO] > 0:
        helper = z.who[0, QUEUE] if len(z.who) > 0 else -1
        if helper < 0 or z.at[helper, WHEN] == math.inf:
            rows[t, 1] = missing(z)
            return -1
        now = z.at[helper, WHEN]
        still = still + 1 if now == last else 0
        last = now
        if still > most:  # nothing can take so many steps in no time: a trial must end whatever is in the input
            rows[t, 1] = missing(z)
            return -1
        happen(z, log, now, helper)
        if z.num[TODO] == 0:
            rows[t, 0] = now
            return int(helper)
        if next_time(z, now, helper) > now + TINY:  # whatever happens at one moment has happened: who is free looks
            offer(z, now, helper)
        elif z.at[helper, WHEN] == now and z.who[helper, STATE] == IDLE:
            reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
    return -1
