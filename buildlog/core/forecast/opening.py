"""Compiled: what becomes open to work when something is finished, and where it is kept until somebody takes it."""

from __future__ import annotations

import math

from buildlog.core.forecast.chance import FAILS, MENDS, normal, uniform
from buildlog.core.forecast.compiled import step
from buildlog.core.forecast.heaps import push
from buildlog.core.forecast.tables import (
    AFTER,
    ASSIGNED,
    BEFORE,
    BEGUN,
    CLOSING,
    FAIL,
    FAULTS,
    HANDS,
    HELD,
    IDLE,
    JOB_FROM,
    JOB_LEFT,
    JOB_TO,
    JOB_WAIT,
    JOBS_LEFT,
    KEEP,
    MEND_AT,
    MEND_CENTRE,
    MEND_SPREAD,
    MENDING,
    NEXT,
    NUDGES,
    OF_FROM,
    OF_TO,
    OPEN,
    OWN_N,
    OWNER,
    PLACE,
    POOL,
    QUEUE,
    REACHED,
    READY_N,
    ROOM,
    ROOM_TO,
    SPARE,
    STAGE_LEFT,
    STATE,
    TODO,
    Luck,
    Scene,
    Trial,
)


@step
def nudge(z: Trial, helper: int) -> None:
    """Somebody who waits may find work of their own now."""
    room = 4 * len(z.who) + SPARE
    if z.who[helper, STATE] == IDLE and z.num[NUDGES] < room:
        z.heap[len(z.heap) - room + z.num[NUDGES]] = helper
        z.num[NUDGES] += 1


@step
def own_base(w: Scene, helper: int, stage: int) -> int:
    """Where the heap of a helper's own segments at a stage begins."""
    begin, end = w.crew[helper, ROOM], w.crew[helper, ROOM_TO]
    return 8 * len(w.seg) + 4 * begin + stage * (end - begin)


@step
def put(w: Scene, z: Trial, seg: int, stage: int) -> None:
    """A segment is open to a stage: into the heap of whoever it is assigned to, or into everybody's."""
    helper = w.seg[seg, ASSIGNED + stage]
    if helper >= 0:
        push(z.heap, own_base(w, helper, stage), z.who[helper, OWN_N + stage], seg)
        z.who[helper, OWN_N + stage] += 1
        nudge(z, helper)
        return
    row = stage if w.seg[seg, HANDS + stage] == 1 else 4 + stage
    push(z.heap, row * len(w.seg), z.num[READY_N + row], seg)
    z.num[READY_N + row] += 1


@step
def hold(z: Trial, helper: int, seg: int, stage: int) -> None:
    """A begun segment stays with whoever began it."""
    z.seg[seg, NEXT + stage] = z.who[helper, HELD]
    z.who[helper, HELD] = 4 * seg + stage
    nudge(z, helper)


@step
def may_open(w: Scene, z: Trial, seg: int, stage: int) -> bool:
    """The rules: the stage before, the data's way along the channel, the way in."""
    if z.left[seg, stage] <= 0.0:
        return False
    before = w.seg[seg, BEFORE + stage]
    if before >= 0 and z.left[seg, before] > 0.0:
        return False
    if stage == 3 and z.seg[seg, REACHED] < w.seg[seg, OF_TO] - w.seg[seg, OF_FROM]:
        return False
    return not (stage == 1 and w.seg[seg, CLOSING] and z.num[OPEN] > 0)


@step
def reach_on(w: Scene, z: Trial, channel: int, opening: bool) -> None:
    """Let the data go on along a channel past wired segments; a segment it reaches may be tested."""
    at = z.reach[channel]
    while at < w.chain_from[channel + 1]:
        seg = w.chain[at]
        if z.left[seg, 2] > 0.0:
            break
        z.seg[seg, REACHED] += 1
        at += 1
        if opening and may_open(w, z, seg, 3):
            put(w, z, seg, 3)
    z.reach[channel] = at


@step
def open_way_in(w: Scene, z: Trial) -> None:
    """Everything else is wired and tested: closing segments may be mounted."""
    for seg in range(len(w.seg)):
        if w.seg[seg, CLOSING] and may_open(w, z, seg, 1):
            put(w, z, seg, 1)


@step
def nudge_skilled(w: Scene, z: Trial, job: int) -> None:
    """Whoever waits and has the skill for a job looks again."""
    for helper in range(len(z.who)):
        if w.job_skill[job, helper]:
            nudge(z, helper)


@step
def free_jobs(w: Scene, z: Trial, name: int) -> None:
    """A job or a whole stage is done: jobs that came after it wait for one thing less."""
    for job in range(len(w.job)):
        for at in range(w.job[job, JOB_FROM], w.job[job, JOB_TO]):
            if w.job_after[at] == name:
                z.job[job, JOB_WAIT] -= 1
                if z.job[job, JOB_WAIT] == 0:
                    nudge_skilled(w, z, job)


@step
def passed_test(w: Scene, z: Trial, seg: int) -> None:
    """Tested, and mended if it had to be."""
    if not w.seg[seg, CLOSING]:
        z.num[OPEN] -= 1
        if z.num[OPEN] == 0:
            open_way_in(w, z)


@step
def passed_fault(w: Scene, z: Trial) -> None:
    """A fault that was open from the start is mended."""
    z.num[OPEN] -= 1
    if z.num[OPEN] == 0:
        open_way_in(w, z)


@step
def complete(w: Scene, luck: Luck, z: Trial, t: int, helper: int, seg: int, stage: int) -> None:
    """All units of a segment have passed a stage."""
    z.left[seg, stage] = 0.0
    z.num[TODO] -= 1
    z.num[STAGE_LEFT + stage] -= 1
    if z.num[STAGE_LEFT + stage] == 0 and z.num[JOBS_LEFT] > 0:
        free_jobs(w, z, len(w.job) + stage)
    if stage == 3:
        if luck.once[t, FAIL] > 0.0 and uniform(luck.key[t], FAILS, seg) < luck.once[t, FAIL]:
            z.at[helper, MENDING] += mending(luck, t, seg)
            z.who[helper, MEND_AT] = seg
            z.num[TODO] += 1
        else:
            passed_test(w, z, seg)
        return
    after = w.seg[seg, AFTER + stage]
    if after >= 0 and may_open(w, z, seg, after):
        put(w, z, seg, after)
    if stage == 2:
        for at in range(w.seg[seg, OF_FROM], w.seg[seg, OF_TO]):
            channel = w.of_channel[at]
            if z.reach[channel] < w.chain_from[channel + 1] and w.chain[z.reach[channel]] == seg:
                reach_on(w, z, channel, True)


@step
def mending(luck: Luck, t: int, seg: int) -> float:
    """Person-hours of one spell of rework."""
    return math.exp(luck.once[t, MEND_CENTRE] + luck.once[t, MEND_SPREAD] * normal(luck.key[t], MENDS, seg))


@step
def mended(w: Scene, z: Trial, helper: int) -> None:
    """The rework after a failed test is done."""
    z.at[helper, MENDING] = 0.0
    z.num[TODO] -= 1
    passed_test(w, z, z.who[helper, MEND_AT])


@step
def kept(w: Scene, luck: Luck, t: int, seg: int, stage: int) -> bool:
    """Does a begun segment wait for whoever began it?"""
    return luck.once[t, KEEP] > 0.0 and w.seg[seg, OWNER + stage] >= 0 and w.seg[seg, HANDS + stage] == 1


@step
def set_stage(w: Scene, luck: Luck, z: Trial, t: int) -> None:
    """What is open as the trial begins."""
    segments, crew, jobs = len(w.seg), len(w.crew), len(w.job)
    for channel in range(len(w.chain_from) - 1):
        z.reach[channel] = w.chain_from[channel]
        reach_on(w, z, channel, False)
    for seg in range(segments):
        for stage in range(4):
            if z.left[seg, stage] > 0.0:
                z.num[TODO] += 1
                z.num[STAGE_LEFT + stage] += 1
        z.num[POOL] += w.seg[seg, FAULTS]
        if not w.seg[seg, CLOSING] and (z.left[seg, 2] > 0.0 or z.left[seg, 3] > 0.0):
            z.num[OPEN] += 1
    z.num[OPEN] += z.num[POOL]
    z.num[TODO] += z.num[POOL]
    for seg in range(segments):
        for stage in range(4):
            z.seg[seg, BEGUN + stage] = w.seg[seg, OWNER + stage] >= 0 or z.left[seg, stage] <= 0.0
            if may_open(w, z, seg, stage) and not kept(w, luck, t, seg, stage):
                put(w, z, seg, stage)
    for seg in range(segments - 1, -1, -1):  # the first one ends on top
        for stage in range(4):
            if may_open(w, z, seg, stage) and kept(w, luck, t, seg, stage):
                hold(z, w.seg[seg, OWNER + stage], seg, stage)
    for job in range(jobs):
        z.job[job, JOB_LEFT] = luck.job_hours[t, job]
        if z.job[job, JOB_LEFT] > 0.0:
            z.num[TODO] += 1
            z.num[JOBS_LEFT] += 1
        for at in range(w.job[job, JOB_FROM], w.job[job, JOB_TO]):
            name = w.job_after[at]
            waits = luck.job_hours[t, name] > 0.0 if name < jobs else z.num[STAGE_LEFT + name - jobs] > 0
            z.job[job, JOB_WAIT] += 1 if waits else 0
    for helper in range(crew):
        z.who[helper, QUEUE] = helper
        z.who[helper, PLACE] = helper
