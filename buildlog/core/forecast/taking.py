"""Compiled: who takes what. A free helper takes the first piece of work that the rules allow, later stages first."""

from __future__ import annotations

import math

from buildlog.core.forecast.chance import PIECE, TODAY, normal
from buildlog.core.forecast.compiled import step
from buildlog.core.forecast.heaps import pop, push, reschedule
from buildlog.core.forecast.opening import nudge_skilled, own_base
from buildlog.core.forecast.tables import (
    ACTIVE,
    ASSIGNED,
    BEGUN,
    BLOCKED_N,
    BUSY,
    CLOSING,
    CURVE,
    DAY,
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
    KIND,
    LIMIT,
    MATE,
    MATE_OF,
    MEMBERS,
    MEND,
    MEND_AT,
    MEND_CENTRE,
    MEND_SPREAD,
    MENDING,
    NEXT,
    OMEGA,
    ON_SHIFT,
    OWN_N,
    PACE,
    PEOPLE,
    POOL,
    PRACTICE,
    READY_N,
    SIGMA,
    SINCE,
    SKILL,
    SMALL,
    SPARE,
    STATE,
    TEAM,
    UNIT,
    UNTIL,
    USED,
    WHY,
    WORK,
    Luck,
    Scene,
    Trial,
)

NOTHING_OPEN, AT_LIMIT = 4, 5


@step
def speed(w: Scene, luck: Luck, z: Trial, t: int, helper: int, stage: int) -> float:
    """Units per hour of one helper at a stage, with the practice they have by now, on this day."""
    log = luck.effort[t, helper, stage]
    log += luck.stage[t, stage, CURVE] * math.log1p(z.at[helper, PRACTICE + stage] / w.stage[stage, UNIT])
    if luck.stage[t, stage, OMEGA] > 0.0:
        log += luck.stage[t, stage, OMEGA] * normal(luck.key[t], TODAY, z.who[helper, DAY] * 4096 + helper)
    return math.exp(-log)


@step
def noise(w: Scene, luck: Luck, z: Trial, t: int, seg: int, stage: int) -> float:
    """How much harder than usual a segment turns out at a stage."""
    if luck.stage[t, stage, SIGMA] <= 0.0:
        return 1.0
    size = luck.stage[t, stage, SIGMA] * math.sqrt(1.0 + w.stage[stage, SMALL] / w.left[seg, stage])
    return math.exp(size * normal(luck.key[t], PIECE, 4 * seg + stage))


@step
def begin(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int, kind: int, work: int) -> None:
    """The helper, alone or with the gathered team linked behind, starts on a piece of work."""
    pace, end, hands = 0.0, z.at[helper, UNTIL], 0
    member = helper
    while member >= 0:
        hands += 1
        pace += speed(w, luck, z, t, member, kind) if kind < JOB else 1.0
        end = min(end, z.at[member, UNTIL])
        if member != helper:
            z.who[member, STATE] = MATE
            reschedule(z.who, z.at, member, math.inf)
        member = z.who[member, MATE_OF]
    if kind < JOB:
        pace /= noise(w, luck, z, t, work, kind)
        left = z.left[work, kind]
        z.num[ACTIVE + kind] += hands
        z.seg[work, BEGUN + kind] = True
        if kind == 0 and w.stop_at_limit:
            end = min(end, now + max(0.0, w.crew_hours[helper, LIMIT] - z.at[helper, USED]))
    elif kind == JOB:
        left = z.job[work, JOB_LEFT]
        z.job[work, JOB_BUSY] = True
    else:
        left = z.at[helper, MENDING]
    z.who[helper, STATE], z.who[helper, KIND], z.who[helper, WORK] = BUSY, kind, work
    z.at[helper, SINCE], z.at[helper, PACE], z.who[helper, TEAM] = now, pace, hands
    reschedule(z.who, z.at, helper, min(end, now + left / pace))


@step
def has_room(w: Scene, z: Trial, stage: int, hands: int) -> bool:
    """Do so many more people fit at a stage?"""
    return z.num[ACTIVE + stage] + hands <= w.stage[stage, PEOPLE]


@step
def first_ready(w: Scene, luck: Luck, z: Trial, t: int, stage: int) -> int:
    """The first segment anybody may take at a stage now, or −1."""
    segments = len(w.seg)
    best = -1
    if z.num[READY_N + stage] > 0 and has_room(w, z, stage, 1):
        best = z.heap[stage * segments]
    if z.num[READY_N + 4 + stage] > 0:
        seg = z.heap[(4 + stage) * segments]
        hands = w.seg[seg, HANDS + stage]
        if (best < 0 or seg < best) and has_room(w, z, stage, hands) and z.num[ON_SHIFT + stage] >= hands:
            best = seg
    if best >= 0 and luck.once[t, IN_ORDER] > 0.0 and best > head_of(w, z, stage):
        return -1
    return best


@step
def head_of(w: Scene, z: Trial, stage: int) -> int:
    """The first segment in order that nobody has begun at a stage (assigned and closing ones aside)."""
    at = z.num[HEAD + stage]
    while at < len(w.seg) and (
        z.seg[at, BEGUN + stage] or w.seg[at, ASSIGNED + stage] >= 0 or (stage == 1 and w.seg[at, CLOSING])
    ):
        at += 1
    z.num[HEAD + stage] = at
    return at


@step
def take_from_all(w: Scene, z: Trial, stage: int, seg: int) -> None:
    """Out of everybody's heap."""
    row = stage if w.seg[seg, HANDS + stage] == 1 else 4 + stage
    pop(z.heap, row * len(w.seg), z.num[READY_N + row])
    z.num[READY_N + row] -= 1


@step
def join(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int, kind: int, work: int, hands: int) -> None:
    """One of several pairs of hands: wait for the others, or start when complete."""
    if z.num[GATHER + kind] < 0:
        z.num[GATHER + kind] = work
        z.num[GATHER_N + kind] = 0
        if kind < JOB:
            z.num[ACTIVE + kind] += hands  # their room is kept while they gather
        else:
            z.job[work, JOB_BUSY] = True
            nudge_skilled(w, z, work)
    z.num[MEMBERS + 8 * kind + z.num[GATHER_N + kind]] = helper
    z.num[GATHER_N + kind] += 1
    if z.num[GATHER_N + kind] < hands:
        z.who[helper, STATE], z.who[helper, KIND], z.who[helper, WORK], z.at[helper, SINCE] = GATHERING, kind, work, now
        reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
        return
    for at in range(hands):
        z.who[z.num[MEMBERS + 8 * kind + at], MATE_OF] = z.num[MEMBERS + 8 * kind + at + 1] if at + 1 < hands else -1
    if kind < JOB:
        z.num[ACTIVE + kind] -= hands  # begin counts them again
    z.num[GATHER + kind] = -1
    begin(w, luck, z, t, now, z.num[MEMBERS + 8 * kind], kind, work)


@step
def take_held(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int) -> bool:
    """Go on with what was begun."""
    code = z.who[helper, HELD]
    if code < 0:
        return False
    seg, stage = code // 4, code % 4
    if not has_room(w, z, stage, 1):
        block(z, helper, stage)
        return False
    z.who[helper, HELD] = z.seg[code // 4, NEXT + code % 4]
    begin(w, luck, z, t, now, helper, stage, seg)
    return True


@step
def block(z: Trial, helper: int, stage: int) -> None:
    """Waits for room at a stage where work of their own is open."""
    if not z.who[helper, IN_BLOCKED + stage]:
        z.who[helper, IN_BLOCKED + stage] = True
        push(z.heap, len(z.heap) - SPARE - (8 - stage) * len(z.who), z.num[BLOCKED_N + stage], helper)
        z.num[BLOCKED_N + stage] += 1


@step
def take_job(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int) -> bool:
    """Jobs: help where hands are being gathered, else begin one that waits for nothing."""
    for job in range(len(w.job)):
        if not w.job_skill[job, helper] or z.job[job, JOB_LEFT] <= 0.0:
            continue
        if z.num[GATHER + JOB] == job:
            join(w, luck, z, t, now, helper, JOB, job, w.job[job, JOB_HANDS])
            return True
        if z.job[job, JOB_BUSY] or z.job[job, JOB_WAIT] > 0:
            continue
        if w.job[job, JOB_HANDS] == 1:
            begin(w, luck, z, t, now, helper, JOB, job)
            return True
        if z.num[GATHER + JOB] < 0 and enough_for(w, z, now, job):
            join(w, luck, z, t, now, helper, JOB, job, w.job[job, JOB_HANDS])
            return True
    return False


@step
def enough_for(w: Scene, z: Trial, now: float, job: int) -> bool:
    """Are enough people with the skill for a job there now?"""
    there = 0
    for helper in range(len(z.who)):
        if z.who[helper, STATE] > 0 and z.at[helper, UNTIL] > now and w.job_skill[job, helper]:
            there += 1
    return there >= w.job[job, JOB_HANDS]


@step
def take_own(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int, stage: int) -> bool:
    """A segment assigned to the helper."""
    if z.who[helper, OWN_N + stage] == 0:
        return False
    base = own_base(w, helper, stage)
    seg = z.heap[base]
    hands = w.seg[seg, HANDS + stage]
    if not has_room(w, z, stage, hands):
        block(z, helper, stage)
        return False
    if hands > 1 and (z.num[ON_SHIFT + stage] < hands or z.num[GATHER + stage] >= 0):
        return False
    pop(z.heap, base, z.who[helper, OWN_N + stage])
    z.who[helper, OWN_N + stage] -= 1
    if hands == 1:
        begin(w, luck, z, t, now, helper, stage, seg)
    else:
        join(w, luck, z, t, now, helper, stage, seg, hands)
    return True


@step
def take_stage(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int, stage: int) -> bool:
    """A segment at one stage: join others, own ones, then anybody's."""
    if z.num[GATHER + stage] >= 0:
        seg = z.num[GATHER + stage]
        join(w, luck, z, t, now, helper, stage, seg, w.seg[seg, HANDS + stage])
        return True
    if take_own(w, luck, z, t, now, helper, stage):
        return True
    seg = first_ready(w, luck, z, t, stage)
    if seg < 0:
        return False
    take_from_all(w, z, stage, seg)
    if w.seg[seg, HANDS + stage] == 1:
        begin(w, luck, z, t, now, helper, stage, seg)
    else:
        join(w, luck, z, t, now, helper, stage, seg, w.seg[seg, HANDS + stage])
    return True


@step
def take_fault(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int) -> bool:
    """Mend a fault that was open already."""
    if z.num[POOL] == 0 or not (w.crew[helper, SKILL + 2] or w.crew[helper, SKILL + 3]):
        return False
    z.num[POOL] -= 1
    z.at[helper, MENDING] = math.exp(
        luck.once[t, MEND_CENTRE] + luck.once[t, MEND_SPREAD] * normal(luck.key[t], PIECE, -1 - z.num[POOL])
    )
    z.who[helper, MEND_AT] = -1
    begin(w, luck, z, t, now, helper, MEND, -1)
    return True


@step
def find_work(w: Scene, luck: Luck, z: Trial, t: int, now: float, helper: int) -> bool:
    """Give a helper who is there something to do; False when they must wait."""
    z.who[helper, MATE_OF] = -1
    if z.at[helper, MENDING] > 0.0:
        begin(w, luck, z, t, now, helper, MEND, z.who[helper, MEND_AT])
        return True
    if take_held(w, luck, z, t, now, helper) or take_fault(w, luck, z, t, now, helper):
        return True
    if take_job(w, luck, z, t, now, helper):
        return True
    for stage in range(3, -1, -1):
        if not w.crew[helper, SKILL + stage] or (stage == 0 and z.at[helper, USED] >= w.crew_hours[helper, LIMIT]):
            continue
        if take_stage(w, luck, z, t, now, helper, stage):
            return True
    return False


@step
def wait(w: Scene, z: Trial, now: float, helper: int) -> None:
    """Nothing to do now: stay until there is, or until the shift ends."""
    z.who[helper, STATE] = IDLE
    z.at[helper, SINCE] = now
    z.who[helper, WHY] = reason(w, z, helper)
    reschedule(z.who, z.at, helper, z.at[helper, UNTIL])
    for stage in range(4):
        tired = stage == 0 and z.at[helper, USED] >= w.crew_hours[helper, LIMIT]
        if w.crew[helper, SKILL + stage] and not tired and not z.who[helper, IN_IDLE + stage]:
            z.who[helper, IN_IDLE + stage] = True
            push(z.heap, len(z.heap) - SPARE - (12 - stage) * len(z.who), z.num[IDLE_N + stage], helper)
            z.num[IDLE_N + stage] += 1


@step
def reason(w: Scene, z: Trial, helper: int) -> int:
    """Why somebody waits: the stage whose room is full, the populate limit, or nothing open."""
    for stage in range(3, -1, -1):
        if w.crew[helper, SKILL + stage] and z.num[READY_N + stage] > 0 and not has_room(w, z, stage, 1):
            return stage
    if w.crew[helper, SKILL + 0] and z.num[READY_N + 0] > 0 and z.at[helper, USED] >= w.crew_hours[helper, LIMIT]:
        return AT_LIMIT
    return NOTHING_OPEN
