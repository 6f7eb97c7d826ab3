"""Compiled: who takes what. A free helper takes the first item of work that the rules allow, later stages first."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.effort import effort, hardness
from buildlog.core.forecast.simulate.heaps import pop, push, reschedule
from buildlog.core.forecast.simulate.release_work import call_short, call_skilled, mending, own_base, row_of
from buildlog.core.forecast.simulate.state import (
    ACTIVE,
    ASSIGNED,
    AT_LIMIT,
    BEGUN,
    BLOCKED_N,
    BUSY,
    BY_STAGE,
    CLOSING,
    FORSAKEN,
    GATHER,
    GATHER_N,
    GATHERING,
    HANDS,
    HEAD,
    HELD,
    IDLE,
    IDLE_N,
    IN_BLOCKED,
    IN_IDLE,
    IN_ORDER,
    JOB,
    JOB_BUSY,
    JOB_HANDS,
    JOB_LEFT,
    JOB_WAIT,
    JOBS_LEFT,
    KIND,
    LIMIT,
    MATE,
    MATE_OF,
    MEMBERS,
    MEND,
    MEND_AT,
    MENDING,
    NEXT,
    NOTHING_OPEN,
    ON_SHIFT,
    OWN_N,
    PACE,
    PAUSE,
    PEOPLE,
    POOL,
    READY_N,
    ROW,
    SHIFT,
    SHIFT_TO,
    SHORT,
    SHORT_N,
    SINCE,
    SKILL,
    STATE,
    STOP,
    TEAM,
    TINY,
    UNTIL,
    USED,
    WHY,
    WORK,
    Trial,
)


@step
def has_room(z: Trial, stage: int, hands: int) -> bool:
    """Do so many more people fit at a stage?"""
    return bool(z.num[ACTIVE + stage] + hands <= z.tot[BY_STAGE + ROW * stage + PEOPLE])


@step
def at_limit(z: Trial, helper: int) -> bool:
    """Has the helper populated as long as their hands bear today?"""
    return bool(z.at[helper, USED] >= z.at[helper, LIMIT] - TINY)


@step
def block(z: Trial, helper: int, stage: int) -> None:
    """Waits for room at a stage where work of their own is open."""
    if not z.who[helper, IN_BLOCKED + stage]:
        z.who[helper, IN_BLOCKED + stage] = 1
        push(z.heap, len(z.heap) - (5 - stage) * len(z.who), z.num[BLOCKED_N + stage], helper)
        z.num[BLOCKED_N + stage] += 1


@step
def fits(z: Trial, seg: int, stage: int) -> bool:
    """Is there room for as many as a segment needs, and are they there?"""
    hands = z.seg[seg, HANDS + stage]
    return bool(has_room(z, stage, hands) and z.num[ON_SHIFT + stage] >= hands)


@step
def short(z: Trial, helper: int) -> None:
    """Waits for more hands, or for room for several."""
    if not z.who[helper, SHORT]:
        z.who[helper, SHORT] = 1
        z.num[SHORT_N] += 1


@step
def held_one(z: Trial, helper: int) -> int:
    """Go on with what was begun."""
    code = z.who[helper, HELD]
    if code < 0:
        return -1
    seg, stage = code // 4, code % 4
    if stage == 0 and z.num[STOP] > 0 and at_limit(z, helper):
        return -1
    if not has_room(z, stage, 1):
        block(z, helper, stage)
        return -1
    z.who[helper, HELD] = z.seg[seg, NEXT + stage]
    return int(stage + 8 * seg)


@step
def old_fault(z: Trial, helper: int) -> int:
    """Mend a fault that somebody who has left was mending, or one that was open from the start."""
    if z.num[POOL] + z.num[FORSAKEN] == 0 or not (z.who[helper, SKILL + 2] or z.who[helper, SKILL + 3]):
        return -1
    if z.num[FORSAKEN] > 0:
        take_over(z, helper)
        return MEND
    z.num[POOL] -= 1
    z.at[helper, MENDING] = mending(z, -1 - z.num[POOL])
    z.who[helper, MEND_AT] = -1
    return MEND


@step
def take_over(z: Trial, helper: int) -> None:
    """Go on mending where somebody who does not come again has stopped."""
    z.num[FORSAKEN] -= 1
    for other in range(len(z.who)):
        if z.who[other, SHIFT] >= z.who[other, SHIFT_TO] and z.at[other, MENDING] > 0.0:
            z.at[helper, MENDING], z.who[helper, MEND_AT] = z.at[other, MENDING], z.who[other, MEND_AT]
            z.at[other, MENDING] = 0.0
            return


@step
def job_for(z: Trial, now: float, helper: int) -> int:
    """Help where hands are being gathered for a job, or begin one that waits for nothing."""
    for job in range(len(z.job)):
        if not z.job_skill[job, helper] or z.job[job, JOB_LEFT] <= 0.0:
            continue
        if z.num[GATHER + JOB] == job:
            return JOB + 8 * job
        if z.job[job, JOB_BUSY] > 0.0 or z.job[job, JOB_WAIT] > 0.0:
            continue
        if z.job[job, JOB_HANDS] == 1.0 or (z.num[GATHER + JOB] < 0 and enough_for(z, now, job)):
            return JOB + 8 * job
        short(z, helper)
    return -1


@step
def enough_for(z: Trial, now: float, job: int) -> bool:
    """Are enough people with the skill for a job there now?"""
    there = 0
    for helper in range(len(z.who)):
        if z.who[helper, STATE] > 0 and z.at[helper, UNTIL] > now and z.job_skill[job, helper]:
            there += 1
    return bool(there >= z.job[job, JOB_HANDS])


@step
def own_one(z: Trial, helper: int, stage: int) -> int:
    """A segment assigned to the helper."""
    alone, several = z.who[helper, OWN_N + stage], z.who[helper, OWN_N + 4 + stage]
    if alone + several == 0:
        return -1
    if not has_room(z, stage, 1):
        block(z, helper, stage)
        return -1
    row, seg = stage, -1
    if alone > 0:
        seg = z.heap[own_base(z, helper, stage)]
    if several > 0:
        other = z.heap[own_base(z, helper, 4 + stage)]
        if not fits(z, other, stage):
            short(z, helper)
        elif seg < 0 or other < seg:
            row, seg = 4 + stage, other
    if seg < 0:
        return -1
    pop(z.heap, own_base(z, helper, row), z.who[helper, OWN_N + row])
    z.who[helper, OWN_N + row] -= 1
    return int(stage + 8 * seg)


@step
def first_ready(z: Trial, stage: int) -> int:
    """The first segment anybody may take at a stage now, or −1."""
    segments = len(z.seg)
    best = -1
    if z.num[READY_N + stage] > 0 and has_room(z, stage, 1):
        best = z.heap[stage * segments]
    if z.num[READY_N + 4 + stage] > 0:
        seg = z.heap[(4 + stage) * segments]
        if (best < 0 or seg < best) and fits(z, seg, stage):
            best = seg
    if best >= 0 and z.num[IN_ORDER] > 0 and best > head_of(z, stage):
        return -1
    return best


@step
def head_of(z: Trial, stage: int) -> int:
    """The first segment in order that nobody has begun at a stage (assigned ones aside, and from mount on closing ones:
    they come last wherever they lie)."""
    at = z.num[HEAD + stage]
    while at < len(z.seg) and (
        z.seg[at, BEGUN + stage] or z.seg[at, ASSIGNED + stage] >= 0 or (stage % 2 == 1 and z.seg[at, CLOSING])
    ):
        at += 1
    z.num[HEAD + stage] = at
    return int(at)


@step
def anybodys(z: Trial, stage: int) -> int:
    """The first segment anybody may take, out of everybody's heap."""
    seg = first_ready(z, stage)
    if seg < 0:
        return -1
    row = row_of(z, seg, stage)
    pop(z.heap, row * len(z.seg), z.num[READY_N + row])
    z.num[READY_N + row] -= 1
    return stage + 8 * seg


@step
def choose(z: Trial, now: float, helper: int) -> int:
    """What a helper who is there does next, as kind + 8·(segment or job); −1 when they must wait."""
    if z.at[helper, MENDING] > 0.0:
        return MEND
    code = held_one(z, helper)
    if code < 0:
        code = old_fault(z, helper)
    if code < 0 and z.num[JOBS_LEFT] > 0:
        code = job_for(z, now, helper)
    stage = 3
    while code < 0 and stage >= 0:
        if z.who[helper, SKILL + stage] and not (stage == 0 and at_limit(z, helper)):
            if z.num[GATHER + stage] >= 0:
                return int(stage + 8 * z.num[GATHER + stage])
            code = own_one(z, helper, stage)
            if code < 0:
                code = anybodys(z, stage)
        stage -= 1
    return code


@step
def gathered(z: Trial, now: float, helper: int, kind: int, work: int, hands: int) -> bool:
    """One of several pairs of hands: wait for the others, or link them behind the first when all are there."""
    if z.num[GATHER + kind] < 0:
        z.num[GATHER + kind] = work
        z.num[GATHER_N + kind] = 0
        if kind < JOB:
            z.num[ACTIVE + kind] += hands  # their room is kept while they gather
        else:
            z.job[work, JOB_BUSY] = 1.0
            call_skilled(z, work)
    first = MEMBERS + 8 * kind
    z.num[first + z.num[GATHER_N + kind]] = helper
    z.num[GATHER_N + kind] += 1
    if z.num[GATHER_N + kind] < hands:
        z.who[helper, STATE], z.who[helper, KIND], z.who[helper, WORK] = GATHERING, kind, work
        z.at[helper, SINCE] = now
        reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
        return False
    for at in range(hands):
        z.who[z.num[first + at], MATE_OF] = z.num[first + at + 1] if at + 1 < hands else -1
    if kind < JOB:
        z.num[ACTIVE + kind] -= hands  # counted again as they begin
    z.num[GATHER + kind] = -1
    call_short(z)
    return True


@step
def begin(z: Trial, now: float, helper: int, kind: int, work: int) -> None:
    """The helper, with the team linked behind, starts on a item of work, after the usual pause since the last one."""
    pace, end, hands, member = 0.0, z.at[helper, UNTIL], 0, helper
    hard = hardness(z, work, kind) if kind < JOB else 0.0
    since = max(now, z.at[helper, SINCE] + z.tot[PAUSE]) if z.who[helper, TEAM] > 0 else now
    while member >= 0:
        hands += 1
        pace += math.exp(-effort(z, member, kind) - hard) if kind < JOB else 1.0
        end = min(end, z.at[member, UNTIL])
        z.who[member, TEAM] = 1
        if member != helper:
            z.who[member, STATE] = MATE
            reschedule(z.who, z.at, member, math.inf)
        member = z.who[member, MATE_OF]
    since = min(since, end)
    if kind < JOB:
        left = z.left[work, kind]
        z.num[ACTIVE + kind] += hands
        z.seg[work, BEGUN + kind] = 1
        if kind == 0 and z.num[STOP] > 0:
            end = min(end, since + max(0.0, z.at[helper, LIMIT] - z.at[helper, USED]))
    elif kind == JOB:
        left = z.job[work, JOB_LEFT]
        z.job[work, JOB_BUSY] = 1.0
    else:
        left = z.at[helper, MENDING]
    z.who[helper, STATE], z.who[helper, KIND], z.who[helper, WORK] = BUSY, kind, work
    z.who[helper, TEAM] = hands
    z.at[helper, SINCE], z.at[helper, PACE] = since, pace
    reschedule(z.who, z.at, helper, min(end, since + left / pace))


@step
def start(z: Trial, now: float, helper: int, code: int) -> None:
    """Begin alone, or join those who gather."""
    kind, work = code % 8, code // 8
    hands = 1
    if kind < JOB:
        hands = z.seg[work, HANDS + kind]
    elif kind == JOB:
        hands = int(z.job[work, JOB_HANDS])
    z.who[helper, MATE_OF] = -1
    if hands > 1:
        if not gathered(z, now, helper, kind, work, hands):
            return
        helper = z.num[MEMBERS + 8 * kind]
    begin(z, now, helper, kind, work)


@step
def wait(z: Trial, now: float, helper: int) -> None:
    """Nothing to do now: stay until there is, or until the shift ends."""
    if z.at[helper, SINCE] >= now - TINY:
        z.who[helper, WHY] = reason(z, helper)
        z.who[helper, STATE] = IDLE
        reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
    for stage in range(4):
        tired = stage == 0 and at_limit(z, helper)
        if z.who[helper, SKILL + stage] and not tired and not z.who[helper, IN_IDLE + stage]:
            z.who[helper, IN_IDLE + stage] = 1
            push(z.heap, len(z.heap) - (9 - stage) * len(z.who), z.num[IDLE_N + stage], helper)
            z.num[IDLE_N + stage] += 1


@step
def reason(z: Trial, helper: int) -> int:
    """Why somebody waits: the stage whose room is full, the populate limit, or nothing open."""
    for stage in range(3, -1, -1):
        if z.who[helper, SKILL + stage] and z.num[READY_N + stage] > 0 and not has_room(z, stage, 1):
            return stage
    if z.who[helper, SKILL] and z.num[READY_N] > 0 and at_limit(z, helper):
        return AT_LIMIT
    return NOTHING_OPEN
