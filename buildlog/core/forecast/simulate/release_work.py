"""Compiled: what becomes open to work when something is finished, and where it is kept until somebody takes it."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.heaps import push
from buildlog.core.forecast.simulate.random_numbers import FAILS, MENDS, normal, uniform
from buildlog.core.forecast.simulate.state import (
    AFTER,
    ASSIGNED,
    BEFORE,
    BEGUN,
    CHAIN,
    CLOSING,
    FAIL,
    FAULTS,
    FROM,
    HANDS,
    HELD,
    IDLE,
    JOB_FROM,
    JOB_LEFT,
    JOB_TO,
    JOB_WAIT,
    JOBS_LEFT,
    KEEP,
    KEY,
    LOOKERS,
    LOOKS,
    MEND_AT,
    MEND_CENTRE,
    MEND_SPREAD,
    MENDING,
    NEXT,
    NUMBER,
    OF_CHANNEL,
    OF_FROM,
    OF_TO,
    OPEN,
    OWN_N,
    OWNER,
    POOL,
    REACH,
    REACHED,
    READY_N,
    ROOM,
    ROOM_TO,
    SHORT,
    SHORT_N,
    STAGE_LEFT,
    STATE,
    TO,
    TODO,
    Trial,
)


@step
def look_later(z: Trial, helper: int) -> None:
    """The helper, free or waiting, looks for work before anything else happens; the first of the crew looks first."""
    if z.who[helper, STATE] == IDLE and not z.who[helper, LOOKS]:
        z.who[helper, LOOKS] = 1
        push(z.heap, len(z.heap) - len(z.who), z.num[LOOKERS], helper)
        z.num[LOOKERS] += 1


@step
def row_of(z: Trial, seg: int, stage: int) -> int:
    """Segments for one pair of hands lie in the rows 0…3 by stage, those for several in the rows 4…7."""
    return int(stage if z.seg[seg, HANDS + stage] == 1 else 4 + stage)


@step
def own_base(z: Trial, helper: int, row: int) -> int:
    """Where a heap of a helper's own segments begins."""
    begin, end = z.who[helper, ROOM], z.who[helper, ROOM_TO]
    return int(8 * len(z.seg) + 8 * begin + row * (end - begin))


@step
def put(z: Trial, seg: int, stage: int) -> None:
    """A segment is open to a stage: into the heap of whoever it is assigned to, or into everybody's."""
    helper, row = z.seg[seg, ASSIGNED + stage], row_of(z, seg, stage)
    if helper >= 0:
        push(z.heap, own_base(z, helper, row), z.who[helper, OWN_N + row], seg)
        z.who[helper, OWN_N + row] += 1
        look_later(z, helper)
        return
    push(z.heap, row * len(z.seg), z.num[READY_N + row], seg)
    z.num[READY_N + row] += 1


@step
def hold(z: Trial, helper: int, seg: int, stage: int) -> None:
    """A begun segment stays with whoever began it."""
    z.seg[seg, NEXT + stage] = z.who[helper, HELD]
    z.who[helper, HELD] = 4 * seg + stage
    look_later(z, helper)


@step
def may_open(z: Trial, seg: int, stage: int) -> bool:
    """The rules: the stage before, the data's way along the channel, the way in."""
    if z.left[seg, stage] <= 0.0:
        return False
    before = z.seg[seg, BEFORE + stage]
    if before >= 0 and z.left[seg, before] > 0.0:
        return False
    if stage == 3 and z.seg[seg, REACHED] < z.seg[seg, OF_TO] - z.seg[seg, OF_FROM]:
        return False
    return not (stage == 1 and z.seg[seg, CLOSING] and z.num[OPEN] > 0)


@step
def reach_on(z: Trial, channel: int, opening: bool) -> None:
    """Let the data go on along a channel past wired segments; a segment it reaches may be tested."""
    here = z.chan[channel, REACH]
    while here < z.chan[channel, TO]:
        seg = z.run[here, CHAIN]
        if z.left[seg, 2] > 0.0:
            break
        z.seg[seg, REACHED] += 1
        here += 1
        if opening and may_open(z, seg, 3):
            put(z, seg, 3)
    z.chan[channel, REACH] = here


@step
def wired(z: Trial, seg: int) -> None:
    """A segment is wired: data may reach farther on its channels."""
    for at in range(z.seg[seg, OF_FROM], z.seg[seg, OF_TO]):
        channel = z.run[at, OF_CHANNEL]
        here = z.chan[channel, REACH]
        if here < z.chan[channel, TO] and z.run[here, CHAIN] == seg:
            reach_on(z, channel, True)


@step
def free_jobs(z: Trial, name: int) -> None:
    """A job or a whole stage is done: jobs that come after it wait for one thing less."""
    for job in range(len(z.job)):
        for at in range(int(z.job[job, JOB_FROM]), int(z.job[job, JOB_TO])):
            if z.job_after[at] == name:
                z.job[job, JOB_WAIT] -= 1.0
                if z.job[job, JOB_WAIT] <= 0.0:
                    call_skilled(z, job)


@step
def call_skilled(z: Trial, job: int) -> None:
    """Whoever waits and has the skill for a job looks again."""
    for helper in range(len(z.who)):
        if z.job_skill[job, helper]:
            look_later(z, helper)


@step
def call_short(z: Trial) -> None:
    """Whoever waits because hands were missing, or room for as many, looks again: somebody came, or went elsewhere."""
    if z.num[SHORT_N] == 0:
        return
    z.num[SHORT_N] = 0
    for helper in range(len(z.who)):
        if z.who[helper, SHORT]:
            z.who[helper, SHORT] = 0
            look_later(z, helper)


@step
def passed(z: Trial, closing: int) -> None:
    """A segment is tested (and mended), or an old fault is: perhaps the way in may be closed now."""
    if closing:
        return
    z.num[OPEN] -= 1
    if z.num[OPEN] == 0:
        for seg in range(len(z.seg)):
            if z.seg[seg, CLOSING] and may_open(z, seg, 1):
                put(z, seg, 1)


@step
def complete(z: Trial, helper: int, seg: int, stage: int) -> None:
    """All units of a segment have passed a stage."""
    z.left[seg, stage] = 0.0
    z.num[TODO] -= 1
    z.num[STAGE_LEFT + stage] -= 1
    if z.num[JOBS_LEFT] > 0 and z.num[STAGE_LEFT + stage] == 0:
        free_jobs(z, len(z.job) + stage)
    if stage == 3:
        tested(z, helper, seg)
        return
    after = z.seg[seg, AFTER + stage]
    if may_open(z, seg, after):
        put(z, seg, after)
    if stage == 2:
        wired(z, seg)


@step
def tested(z: Trial, helper: int, seg: int) -> None:
    """A test was passed, or it failed and whoever tested mends."""
    if z.tot[FAIL] > 0.0 and uniform(z.num[KEY], FAILS, z.seg[seg, NUMBER]) < z.tot[FAIL]:
        z.at[helper, MENDING] = mending(z, z.seg[seg, NUMBER])
        z.who[helper, MEND_AT] = seg
        z.num[TODO] += 1
    else:
        passed(z, z.seg[seg, CLOSING])


@step
def mending(z: Trial, number: int) -> float:
    """Person-hours of one spell of rework."""
    return math.exp(z.tot[MEND_CENTRE] + z.tot[MEND_SPREAD] * normal(z.num[KEY], MENDS, number))


@step
def mended(z: Trial, helper: int) -> None:
    """The rework after a failed test, or for a fault that was open from the start, is done."""
    seg = z.who[helper, MEND_AT]
    z.at[helper, MENDING] = 0.0
    z.num[TODO] -= 1
    passed(z, 0 if seg < 0 else z.seg[seg, CLOSING])


@step
def kept(z: Trial, seg: int, stage: int) -> bool:
    """Does a begun segment wait for whoever began it?"""
    return bool(z.num[KEEP] > 0 and z.seg[seg, OWNER + stage] >= 0 and z.seg[seg, HANDS + stage] == 1)


@step
def count_work(z: Trial) -> None:
    """How much there is to do, and how far data reaches already."""
    for channel in range(len(z.chan)):
        z.chan[channel, REACH] = z.chan[channel, FROM]
        reach_on(z, channel, False)
    for seg in range(len(z.seg)):
        for stage in range(4):
            if z.left[seg, stage] > 0.0:
                z.num[TODO] += 1
                z.num[STAGE_LEFT + stage] += 1
        z.num[POOL] += z.seg[seg, FAULTS]
        if not z.seg[seg, CLOSING] and (z.left[seg, 2] > 0.0 or z.left[seg, 3] > 0.0):
            z.num[OPEN] += 1
    z.num[OPEN] += z.num[POOL]
    z.num[TODO] += z.num[POOL]


@step
def open_jobs(z: Trial) -> None:
    """How many things each job waits for."""
    for job in range(len(z.job)):
        if z.job[job, JOB_LEFT] > 0.0:
            z.num[TODO] += 1
            z.num[JOBS_LEFT] += 1
        for at in range(int(z.job[job, JOB_FROM]), int(z.job[job, JOB_TO])):
            name = z.job_after[at]
            is_job = name < len(z.job)
            waits = z.job[name, JOB_LEFT] > 0.0 if is_job else z.num[STAGE_LEFT + name - len(z.job)] > 0
            z.job[job, JOB_WAIT] += 1.0 if waits else 0.0


@step
def set_out(z: Trial) -> None:
    """What is open to work on segments as a trial begins."""
    count_work(z)
    segments = len(z.seg)
    for number in range(2 * segments if z.num[KEEP] > 0 else segments):
        seg = number if number < segments else 2 * segments - 1 - number  # held ones backwards: first ends on top
        for stage in range(4):
            z.seg[seg, BEGUN + stage] = z.seg[seg, OWNER + stage] >= 0 or z.left[seg, stage] <= 0.0
            if may_open(z, seg, stage) and kept(z, seg, stage) == (number >= segments):
                if number < segments:
                    put(z, seg, stage)
                else:
                    hold(z, z.seg[seg, OWNER + stage], seg, stage)
