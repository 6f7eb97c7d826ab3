"""Compiled: what becomes open to work when something is finished, and where it is kept until somebody takes it."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.heaps import lookers_base, own_base, push, ready_base
from buildlog.core.forecast.simulate.random_numbers import REWORK, TEST_FAILURE, normal, uniform
from buildlog.core.forecast.simulate.records import CODES, IDLE
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import MOUNT, STAGE_COUNT, TEST, WIRE


@step
def look_later(z: Trial, helper: int) -> None:
    """The helper, free or waiting, looks for work before anything else happens; the first of the crew looks first."""
    person = z.helpers[helper]
    if person.state == IDLE and not person.looks:
        person.looks = 1
        push(z.heap, lookers_base(z), z.common[0].lookers, helper)
        z.common[0].lookers += 1


@step
def row_of(z: Trial, seg: int, stage: int) -> int:
    """Segments for one person lie in the first rows, by stage, those for several in the rows after them."""
    return int(stage if z.segments[seg].people_needed[stage] == 1 else STAGE_COUNT + stage)


@step
def put(z: Trial, seg: int, stage: int) -> None:
    """A segment is open to a stage: into the heap of whoever it is assigned to, or into everybody's."""
    helper, row = z.segments[seg].assigned[stage], row_of(z, seg, stage)
    if helper >= 0:
        push(z.heap, own_base(z, helper, row), z.helpers[helper].own_count[row], seg)
        z.helpers[helper].own_count[row] += 1
        look_later(z, helper)
        return
    push(z.heap, ready_base(z, row), z.common[0].ready_count[row], seg)
    z.common[0].ready_count[row] += 1


@step
def hold(z: Trial, helper: int, seg: int, stage: int) -> None:
    """A begun segment stays with whoever began it."""
    z.segments[seg].next_held[stage] = z.helpers[helper].held
    z.helpers[helper].held = stage + CODES * seg
    look_later(z, helper)


@step
def may_open(z: Trial, seg: int, stage: int) -> bool:
    """The rules: the stage before, the data's way along the channel, the way in."""
    segment = z.segments[seg]
    if segment.left[stage] <= 0.0:
        return False
    before = segment.before[stage]
    if before >= 0 and segment.left[before] > 0.0:
        return False
    if stage == TEST and segment.reached < segment.channels_to - segment.channels_from:
        return False
    return not (stage == MOUNT and segment.closing and z.common[0].before_closing > 0)


@step
def reach_on(z: Trial, number: int, opening: bool) -> None:
    """Let the data go on along a channel past wired segments; a segment it reaches may be tested."""
    channel = z.channels[number]
    here = channel.reach
    while here < channel.chain_to:
        seg = z.chain[here]
        if z.segments[seg].left[WIRE] > 0.0:
            break
        z.segments[seg].reached += 1
        here += 1
        if opening and may_open(z, seg, TEST):
            put(z, seg, TEST)
    channel.reach = here


@step
def wired(z: Trial, seg: int) -> None:
    """A segment is wired: data may reach farther on its channels."""
    for at in range(z.segments[seg].channels_from, z.segments[seg].channels_to):
        number = z.segment_channels[at]
        here = z.channels[number].reach
        if here < z.channels[number].chain_to and z.chain[here] == seg:
            reach_on(z, number, True)


@step
def free_jobs(z: Trial, predecessor: int) -> None:
    """A job (its number) or a whole stage (J + stage) is done: jobs that come after it wait for one thing less."""
    for number in range(len(z.jobs)):
        job = z.jobs[number]
        for at in range(job.after_from, job.after_to):
            if z.job_after[at] == predecessor:
                job.waits_for -= 1
                if job.waits_for <= 0:
                    call_skilled(z, number)


@step
def call_skilled(z: Trial, job: int) -> None:
    """Whoever waits and has the skill for a job looks again."""
    for helper in range(len(z.helpers)):
        if z.job_skill[job, helper]:
            look_later(z, helper)


@step
def call_short(z: Trial) -> None:
    """Whoever waits because people were missing, or room for as many, looks again: somebody came, or went elsewhere."""
    if z.common[0].short_count == 0:
        return
    z.common[0].short_count = 0
    for helper in range(len(z.helpers)):
        if z.helpers[helper].short_of_people:
            z.helpers[helper].short_of_people = 0
            look_later(z, helper)


@step
def passed(z: Trial, closing: int) -> None:
    """A segment is tested (and mended), or an old fault is: perhaps the way in may be closed now."""
    if closing:
        return
    z.common[0].before_closing -= 1
    if z.common[0].before_closing == 0:
        for seg in range(len(z.segments)):
            if z.segments[seg].closing and may_open(z, seg, MOUNT):
                put(z, seg, MOUNT)


@step
def complete(z: Trial, helper: int, seg: int, stage: int) -> None:
    """All units of a segment have passed a stage."""
    z.segments[seg].left[stage] = 0.0
    z.common[0].todo -= 1
    z.stages[stage].left -= 1
    if z.common[0].jobs_left > 0 and z.stages[stage].left == 0:
        free_jobs(z, len(z.jobs) + stage)
    if stage == TEST:
        tested(z, helper, seg)
        return
    after = z.segments[seg].after[stage]
    if may_open(z, seg, after):
        put(z, seg, after)
    if stage == WIRE:
        wired(z, seg)


@step
def tested(z: Trial, helper: int, seg: int) -> None:
    """A test was passed, or it failed and whoever tested mends."""
    common, number = z.common[0], z.segments[seg].number
    if common.failure_rate > 0.0 and uniform(common.key, TEST_FAILURE, number) < common.failure_rate:
        z.helpers[helper].mending = mending(z, number)
        z.helpers[helper].mending_segment = seg
        common.todo += 1
    else:
        passed(z, z.segments[seg].closing)


@step
def mending(z: Trial, number: int) -> float:
    """Person-hours of one spell of rework."""
    common = z.common[0]
    return math.exp(common.mend_centre + common.mend_spread * normal(common.key, REWORK, number))


@step
def mended(z: Trial, helper: int) -> None:
    """The rework after a failed test, or for a fault that was open from the start, is done."""
    seg = z.helpers[helper].mending_segment
    z.helpers[helper].mending = 0.0
    z.common[0].todo -= 1
    passed(z, 0 if seg < 0 else z.segments[seg].closing)


@step
def is_kept(z: Trial, seg: int, stage: int) -> bool:
    """Does a begun segment wait for whoever began it?"""
    segment = z.segments[seg]
    return bool(z.common[0].keeps > 0 and segment.owner[stage] >= 0 and segment.people_needed[stage] == 1)


@step
def count_work(z: Trial) -> None:
    """How much there is to do, and how far data reaches already."""
    common = z.common[0]
    for channel in range(len(z.channels)):
        z.channels[channel].reach = z.channels[channel].chain_from
        reach_on(z, channel, False)
    for seg in range(len(z.segments)):
        segment = z.segments[seg]
        for stage in range(STAGE_COUNT):
            if segment.left[stage] > 0.0:
                common.todo += 1
                z.stages[stage].left += 1
        common.old_faults += segment.open_faults
        if not segment.closing and (segment.left[WIRE] > 0.0 or segment.left[TEST] > 0.0):
            common.before_closing += 1
    common.before_closing += common.old_faults
    common.todo += common.old_faults


@step
def open_jobs(z: Trial) -> None:
    """How many things each job waits for."""
    jobs = len(z.jobs)
    for number in range(jobs):
        job = z.jobs[number]
        if job.left > 0.0:
            z.common[0].todo += 1
            z.common[0].jobs_left += 1
        for at in range(job.after_from, job.after_to):
            predecessor = z.job_after[at]
            is_job = predecessor < jobs
            waits = z.jobs[predecessor].left > 0.0 if is_job else z.stages[predecessor - jobs].left > 0
            job.waits_for += 1 if waits else 0


@step
def open_segments(z: Trial) -> None:
    """What is open to work on segments as a trial begins."""
    count_work(z)
    segments = len(z.segments)
    for number in range(2 * segments if z.common[0].keeps > 0 else segments):
        seg = number if number < segments else 2 * segments - 1 - number  # held ones backwards: first ends on top
        segment = z.segments[seg]
        for stage in range(STAGE_COUNT):
            segment.begun[stage] = segment.owner[stage] >= 0 or segment.left[stage] <= 0.0
            if may_open(z, seg, stage) and is_kept(z, seg, stage) == (number >= segments):
                if number < segments:
                    put(z, seg, stage)
                else:
                    hold(z, segment.owner[stage], seg, stage)
