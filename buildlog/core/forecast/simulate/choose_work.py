"""Compiled: who takes what. A free helper takes the first item of work that the rules allow, later stages first.

The functions ``take_…`` return an item of work, coded kind + CODES·(segment or job) as in ``records``; −1 is none.
"""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.effort import effort, hardness
from buildlog.core.forecast.simulate.heaps import blocked_base, idle_base, own_base, pop, push, ready_base, reschedule
from buildlog.core.forecast.simulate.records import (
    AT_LIMIT,
    AWAY,
    BUSY,
    CODES,
    GATHERING,
    IDLE,
    JOB,
    MATE,
    MEND,
    NOTHING_OPEN,
    TINY,
)
from buildlog.core.forecast.simulate.release_work import call_short, call_skilled, mending, row_of
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import MOUNT, POPULATE, STAGE_COUNT, TEST, WIRE


@step
def has_room(z: Trial, stage: int, people: int) -> bool:
    """Do so many more people fit at a stage?"""
    return bool(z.stages[stage].active + people <= z.stages[stage].people_limit)


@step
def at_limit(z: Trial, helper: int) -> bool:
    """Has the helper populated as long as their hands bear today?"""
    return bool(z.helpers[helper].populated >= z.helpers[helper].populate_limit - TINY)


@step
def block(z: Trial, helper: int, stage: int) -> None:
    """Waits for room at a stage where work of their own is open."""
    if not z.helpers[helper].in_blocked[stage]:
        z.helpers[helper].in_blocked[stage] = 1
        push(z.heap, blocked_base(z, stage), z.stages[stage].blocked_count, helper)
        z.stages[stage].blocked_count += 1


@step
def fits(z: Trial, seg: int, stage: int) -> bool:
    """Is there room for as many as a segment needs, and are they there?"""
    people = z.segments[seg].people_needed[stage]
    return bool(has_room(z, stage, people) and z.stages[stage].on_shift >= people)


@step
def want_people(z: Trial, helper: int) -> None:
    """Waits for more people, or for room for several."""
    if not z.helpers[helper].short_of_people:
        z.helpers[helper].short_of_people = 1
        z.common[0].short_count += 1


@step
def take_held(z: Trial, helper: int) -> int:
    """Go on with what was begun."""
    item = z.helpers[helper].held
    if item < 0:
        return -1
    stage, seg = item % CODES, item // CODES
    if stage == POPULATE and z.common[0].stop_at_limit and at_limit(z, helper):
        return -1
    if not has_room(z, stage, 1):
        block(z, helper, stage)
        return -1
    z.helpers[helper].held = z.segments[seg].next_held[stage]
    return int(item)


@step
def take_fault(z: Trial, helper: int) -> int:
    """Mend a fault that somebody who has left was mending, or one that was open from the start."""
    common, person = z.common[0], z.helpers[helper]
    if common.old_faults + common.abandoned_faults == 0 or not (person.skill[WIRE] or person.skill[TEST]):
        return -1
    if common.abandoned_faults > 0:
        take_abandoned(z, helper)
        return MEND
    common.old_faults -= 1
    person.mending = mending(z, -1 - common.old_faults)
    person.mending_segment = -1
    return MEND


@step
def take_abandoned(z: Trial, helper: int) -> None:
    """Go on mending where somebody who does not come again has stopped."""
    z.common[0].abandoned_faults -= 1
    for number in range(len(z.helpers)):
        other = z.helpers[number]
        if other.shift >= other.shift_to and other.mending > 0.0:
            z.helpers[helper].mending = other.mending
            z.helpers[helper].mending_segment = other.mending_segment
            other.mending = 0.0
            return


@step
def take_job(z: Trial, now: float, helper: int) -> int:
    """Help where people are being gathered for a job, or begin one that waits for nothing; ``now`` [h after as-of]."""
    gathering = z.common[0].gathering[JOB]
    for number in range(len(z.jobs)):
        job = z.jobs[number]
        if not z.job_skill[number, helper] or job.left <= 0.0:
            continue
        if gathering == number:
            return JOB + CODES * number
        if job.busy or job.waits_for > 0:
            continue
        if job.people_needed == 1 or (gathering < 0 and enough_for(z, now, number)):
            return JOB + CODES * number
        want_people(z, helper)
    return -1


@step
def enough_for(z: Trial, now: float, job: int) -> bool:
    """Are enough people with the skill for a job there at ``now`` [h after as-of]?"""
    there = 0
    for number in range(len(z.helpers)):
        helper = z.helpers[number]
        if helper.state != AWAY and helper.until > now and z.job_skill[job, number]:
            there += 1
    return bool(there >= z.jobs[job].people_needed)


@step
def take_assigned(z: Trial, helper: int, stage: int) -> int:
    """A segment assigned to the helper."""
    alone, several = z.helpers[helper].own_count[stage], z.helpers[helper].own_count[STAGE_COUNT + stage]
    if alone + several == 0:
        return -1
    if not has_room(z, stage, 1):
        block(z, helper, stage)
        return -1
    row, seg = stage, -1
    if alone > 0:
        seg = z.heap[own_base(z, helper, stage)]
    if several > 0:
        other = z.heap[own_base(z, helper, STAGE_COUNT + stage)]
        if not fits(z, other, stage):
            want_people(z, helper)
        elif seg < 0 or other < seg:
            row, seg = STAGE_COUNT + stage, other
    if seg < 0:
        return -1
    pop(z.heap, own_base(z, helper, row), z.helpers[helper].own_count[row])
    z.helpers[helper].own_count[row] -= 1
    return int(stage + CODES * seg)


@step
def first_ready(z: Trial, stage: int) -> int:
    """The first segment anybody may take at a stage now, or −1."""
    several = STAGE_COUNT + stage
    first = -1
    if z.common[0].ready_count[stage] > 0 and has_room(z, stage, 1):
        first = z.heap[ready_base(z, stage)]
    if z.common[0].ready_count[several] > 0:
        seg = z.heap[ready_base(z, several)]
        if (first < 0 or seg < first) and fits(z, seg, stage):
            first = seg
    if first >= 0 and z.common[0].in_order and first > head_of(z, stage):
        return -1
    return first


@step
def head_of(z: Trial, stage: int) -> int:
    """The first segment in order that nobody has begun at a stage (assigned ones aside; and closing ones, which are
    mounted and tested last wherever they lie)."""
    late = stage in (MOUNT, TEST)
    at = z.stages[stage].head
    while at < len(z.segments) and (
        z.segments[at].begun[stage] or z.segments[at].assigned[stage] >= 0 or (late and z.segments[at].closing)
    ):
        at += 1
    z.stages[stage].head = at
    return int(at)


@step
def take_ready(z: Trial, stage: int) -> int:
    """The first segment anybody may take, out of everybody's heap."""
    seg = first_ready(z, stage)
    if seg < 0:
        return -1
    row = row_of(z, seg, stage)
    pop(z.heap, ready_base(z, row), z.common[0].ready_count[row])
    z.common[0].ready_count[row] -= 1
    return stage + CODES * seg


@step
def choose(z: Trial, now: float, helper: int) -> int:
    """The item of work that a helper takes next at ``now`` [h after as-of], coded; −1 when they must wait."""
    if z.helpers[helper].mending > 0.0:
        return MEND
    item = take_held(z, helper)
    if item < 0:
        item = take_fault(z, helper)
    if item < 0 and z.common[0].jobs_left > 0:
        item = take_job(z, now, helper)
    stage = TEST
    while item < 0 and stage >= POPULATE:
        if z.helpers[helper].skill[stage] and not (stage == POPULATE and at_limit(z, helper)):
            if z.common[0].gathering[stage] >= 0:
                return int(stage + CODES * z.common[0].gathering[stage])
            item = take_assigned(z, helper, stage)
            if item < 0:
                item = take_ready(z, stage)
        stage -= 1
    return item


@step
def gather(z: Trial, now: float, helper: int, kind: int, work: int, people: int) -> bool:
    """One of several people at ``now`` [h after as-of]: wait for the others, or link them behind the first when all are
    there."""
    common = z.common[0]
    if common.gathering[kind] < 0:
        common.gathering[kind], common.gathered[kind] = work, 0
        if kind < JOB:
            z.stages[kind].active += people  # their room is kept while they gather
        else:
            z.jobs[work].busy = 1
            call_skilled(z, work)
    common.members[kind, common.gathered[kind]] = helper
    common.gathered[kind] += 1
    if common.gathered[kind] < people:
        person = z.helpers[helper]
        person.state, person.kind, person.work, person.since = GATHERING, kind, work, now
        reschedule(z.helpers, z.queue, helper, person.until)
        return False
    for place in range(people):
        following = common.members[kind, place + 1] if place + 1 < people else -1
        z.helpers[common.members[kind, place]].next_mate = following
    if kind < JOB:
        z.stages[kind].active -= people  # counted again as they begin
    common.gathering[kind] = -1
    call_short(z)
    return True


@step
def begin(z: Trial, now: float, helper: int, kind: int, work: int) -> None:
    """The helper, with the team linked behind, is free at ``now`` [h after as-of] and begins after the usual pause."""
    leader = z.helpers[helper]
    pace, end, people, member = 0.0, leader.until, 0, helper
    hard = hardness(z, work, kind) if kind < JOB else 0.0
    since = max(now, leader.since + z.common[0].pause) if leader.team > 0 else now
    while member >= 0:
        people += 1
        pace += math.exp(-effort(z, member, kind) - hard) if kind < JOB else 1.0
        end = min(end, z.helpers[member].until)
        z.helpers[member].team = 1
        if member != helper:
            z.helpers[member].state = MATE
            reschedule(z.helpers, z.queue, member, math.inf)
        member = z.helpers[member].next_mate
    since = min(since, end)
    if kind < JOB:
        left = z.segments[work].left[kind]
        z.stages[kind].active += people
        z.segments[work].begun[kind] = 1
        if kind == POPULATE and z.common[0].stop_at_limit:
            end = min(end, since + max(0.0, leader.populate_limit - leader.populated))
    elif kind == JOB:
        left = z.jobs[work].left
        z.jobs[work].busy = 1
    else:
        left = leader.mending
    leader.state, leader.kind, leader.work, leader.team = BUSY, kind, work, people
    leader.since, leader.pace = since, pace
    reschedule(z.helpers, z.queue, helper, min(end, since + left / pace))


@step
def start(z: Trial, now: float, helper: int, item: int) -> None:
    """Begin a coded item of work alone at ``now`` [h after as-of], or join those who gather."""
    kind, work = item % CODES, item // CODES
    people = 1
    if kind < JOB:
        people = z.segments[work].people_needed[kind]
    elif kind == JOB:
        people = z.jobs[work].people_needed
    z.helpers[helper].next_mate = -1
    if people > 1:
        if not gather(z, now, helper, kind, work, people):
            return
        helper = z.common[0].members[kind, 0]
    begin(z, now, helper, kind, work)


@step
def wait(z: Trial, now: float, helper: int) -> None:
    """Nothing to do at ``now`` [h after as-of]: stay until there is, or until the shift ends."""
    person = z.helpers[helper]
    if person.since >= now - TINY:
        person.idle_reason = reason(z, helper)
        person.state = IDLE
        reschedule(z.helpers, z.queue, helper, person.until)
    for stage in range(STAGE_COUNT):
        tired = stage == POPULATE and at_limit(z, helper)
        if person.skill[stage] and not tired and not person.in_idle[stage]:
            person.in_idle[stage] = 1
            push(z.heap, idle_base(z, stage), z.stages[stage].idle_count, helper)
            z.stages[stage].idle_count += 1


@step
def reason(z: Trial, helper: int) -> int:
    """Why somebody waits: the stage whose room is full, the populate limit, or nothing open."""
    skill, ready = z.helpers[helper].skill, z.common[0].ready_count
    for stage in range(STAGE_COUNT - 1, -1, -1):
        if skill[stage] and ready[stage] > 0 and not has_room(z, stage, 1):
            return stage
    if skill[POPULATE] and ready[POPULATE] > 0 and at_limit(z, helper):
        return AT_LIMIT
    return NOTHING_OPEN
