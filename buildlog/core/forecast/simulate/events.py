"""Compiled: trials of a crew at work, event by event, each helper's next event in a heap.

Helpers come when they said they would (and do come), take work by the rules, stop when the shift ends and go on at
the next one. Nothing here knows dates: all times are in hours after as-of.
"""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.attendance import arrive, leave
from buildlog.core.forecast.simulate.choose_work import at_limit, choose, first_ready, has_room, start, wait
from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.effort import hardness, practised
from buildlog.core.forecast.simulate.heaps import blocked_base, idle_base, lookers_base, pop, reschedule
from buildlog.core.forecast.simulate.records import AWAY, BUSY, GATHERING, IDLE, JOB, KINDS, MEND, TINY, Records
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
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import POPULATE, STAGE_COUNT, TEST


@step
def stop(z: Trial, log: Records, now: float, helper: int) -> None:
    """A chunk of work ends at ``now`` [h after as-of], finished or not: count it, and put back what is left."""
    leader = z.helpers[helper]
    kind, work, people = leader.kind, leader.work, leader.team
    spent = now - leader.since
    units = spent * leader.pace
    z.common[0].hours[kind] += spent * people
    number = helper
    while number >= 0:
        write(z, log, now, helper, number, units / people)
        member = z.helpers[number]
        member.path[kind] += spent
        member.worked += spent
        if kind < JOB:
            member.practice[kind] += units / people
        if kind == POPULATE:
            member.populated += spent
        number = member.next_mate
    if kind < JOB:
        stop_stage(z, helper, work, kind, units, people)
    elif kind == JOB:
        stop_job(z, work, units)
    else:
        leader.mending -= units
        if leader.mending <= TINY:
            mended(z, helper)


@step
def stop_stage(z: Trial, helper: int, seg: int, stage: int, units: float, people: int) -> None:
    """A segment is put down at a stage."""
    segment = z.segments[seg]
    z.stages[stage].active -= people
    if z.stages[stage].people_limit < math.inf:
        call_short(z)
    segment.left[stage] -= units
    if segment.left[stage] <= TINY * segment.initial[stage]:
        complete(z, helper, seg, stage)
    elif z.common[0].keeps and people == 1:
        hold(z, helper, seg, stage)
    else:
        put(z, seg, stage)


@step
def stop_job(z: Trial, number: int, units: float) -> None:
    """A job is put down."""
    job = z.jobs[number]
    job.busy = 0
    job.left -= units
    if job.left <= TINY * job.initial:
        job.left = 0.0
        z.common[0].todo -= 1
        z.common[0].jobs_left -= 1
        free_jobs(z, number)
    else:
        call_skilled(z, number)


@step
def write(z: Trial, log: Records, now: float, helper: int, member: int, units: float) -> None:
    """A line for one of the team, whose work ends at ``now`` [h after as-of], while there is room."""
    at = z.common[0].logged
    if at < len(log):
        line, leader = log[at], z.helpers[helper]
        line.helper, line.kind, line.work = member, leader.kind, leader.work
        line.start, line.end, line.units = leader.since, now, units
        z.common[0].logged = at + 1


@step
def scatter(z: Trial, now: float, helper: int) -> None:
    """Somebody who waited for more people goes at ``now`` [h after as-of]: the others look for other work."""
    kind, work = z.helpers[helper].kind, z.helpers[helper].work
    z.common[0].gathering[kind] = -1
    call_short(z)
    if kind < JOB:
        z.stages[kind].active -= z.segments[work].people_needed[kind]
        put(z, work, kind)
    else:
        z.jobs[work].busy = 0
    for place in range(z.common[0].gathered[kind]):
        member = z.common[0].members[kind, place]
        z.helpers[member].state, z.helpers[member].since = IDLE, now
        if member != helper:
            look_later(z, member)


@step
def happen(z: Trial, log: Records, now: float, helper: int) -> None:
    """The event of this helper at ``now`` [h after as-of]: work or a wait ends, or a shift begins."""
    person = z.helpers[helper]
    if person.state == BUSY:
        stop(z, log, now, helper)
        disband(z, now, helper)
    elif person.state == AWAY:
        arrive(z, helper)
        reschedule(z.helpers, z.queue, helper, person.until)
        look_later(z, helper)
    else:
        if person.state == GATHERING:
            scatter(z, now, helper)
        else:
            z.common[0].waited[person.idle_reason] += now - person.since
        leave(z, helper)


@step
def disband(z: Trial, now: float, helper: int) -> None:
    """The team linked behind a helper is free at ``now`` [h after as-of] and looks for work."""
    number = helper
    while number >= 0:
        member = z.helpers[number]
        following = member.next_mate
        member.next_mate, member.state, member.since = -1, IDLE, now
        if number != helper or member.until <= now + TINY:
            reschedule(z.helpers, z.queue, number, member.until)
            follow(z, number, helper)
        look_later(z, number)
        number = following


@step
def follow(z: Trial, helper: int, source: int) -> None:
    """What the helper does next could not begin before ``source`` got there."""
    for kind in range(KINDS):
        z.helpers[helper].path[kind] = z.helpers[source].path[kind]


@step
def next_looker(z: Trial) -> int:
    """Who looks for work next: those just freed, those who wait for room, those who wait for what has opened."""
    if z.common[0].lookers > 0:
        z.common[0].lookers -= 1
        helper = pop(z.heap, lookers_base(z), z.common[0].lookers + 1)
        z.helpers[helper].looks = 0
        return helper
    for stage in range(STAGE_COUNT - 1, -1, -1):
        at = z.stages[stage]
        if z.common[0].searched >> stage & 1:
            continue
        if at.blocked_count > 0 and has_room(z, stage, 1):
            helper = pop(z.heap, blocked_base(z, stage), at.blocked_count)
            at.blocked_count -= 1
            z.helpers[helper].in_blocked[stage] = 0
            return helper
        while at.idle_count > 0 and (z.common[0].gathering[stage] >= 0 or first_ready(z, stage) >= 0):
            helper = pop(z.heap, idle_base(z, stage), at.idle_count)
            at.idle_count -= 1
            z.helpers[helper].in_idle[stage] = 0
            if z.helpers[helper].state == IDLE and not (stage == POPULATE and at_limit(z, helper)):
                z.common[0].searched |= 1 << stage  # until somebody finds work
                return helper
    return -1


@step
def offer(z: Trial, now: float, source: int) -> None:
    """Whatever is open at ``now`` [h after as-of] is offered to those who are free, until nobody takes any more."""
    z.common[0].searched = 0
    while True:
        helper = next_looker(z)
        if helper < 0:
            return
        if z.helpers[helper].state != IDLE:
            continue
        if now >= z.helpers[helper].until - TINY:
            leave(z, helper)
            continue
        item = choose(z, now, helper)
        if item < 0:
            wait(z, now, helper)
            continue
        waited = now - z.helpers[helper].since
        if waited > TINY:
            z.common[0].waited[z.helpers[helper].idle_reason] += waited
            follow(z, helper, source)
        z.common[0].searched = 0
        start(z, now, helper, item)


@step
def missing(z: Trial) -> float:
    """Person-hours that are left when nobody comes any more; adds them to the hours by kind."""
    total, common = 0.0, z.common[0]
    for stage in range(STAGE_COUNT):
        if z.stages[stage].left == 0:
            continue
        usual = crew_effort(z, stage)
        for seg in range(len(z.segments)):
            if z.segments[seg].left[stage] > 0.0:
                hours = z.segments[seg].left[stage] * usual * math.exp(hardness(z, seg, stage))
                common.hours[stage] += hours
                total += hours
    for job in range(len(z.jobs)):
        common.hours[JOB] += z.jobs[job].left
        total += z.jobs[job].left
    mends = z.stages[TEST].left * common.failure_rate + common.old_faults
    hours = mends * math.exp(common.mend_centre + 0.5 * common.mend_spread**2)
    for helper in range(len(z.helpers)):
        hours += z.helpers[helper].mending
    common.hours[MEND] += hours
    return float(total + hours)


@step
def crew_effort(z: Trial, stage: int) -> float:
    """Person-hours per unit of those who can do a stage; of everybody where nobody can; of nobody: the belief."""
    total, count, everybody = 0.0, 0, 0.0
    for helper in range(len(z.helpers)):
        effort = math.exp(practised(z, helper, stage))
        everybody += effort
        if z.helpers[helper].skill[stage]:
            total += effort
            count += 1
    return total / count if count else everybody / max(1, len(z.helpers))


@step
def next_time(z: Trial, now: float, helper: int) -> float:
    """The next event [h after as-of], the helper aside whose event was at ``now`` and who may still be first in the
    queue: most find work at once and need no other place in it meanwhile."""
    first = z.queue[0]
    if first != helper or z.helpers[helper].next_event > now or z.helpers[helper].state != IDLE:
        return float(z.helpers[first].next_event)
    soonest = math.inf
    for place in range(1, min(3, len(z.helpers))):
        soonest = min(soonest, z.helpers[z.queue[place]].next_event)
    return soonest


@step
def run(z: Trial, log: Records, results: Records, t: int) -> int:
    """Play trial t to its end; when that is and what is missing go to its result. Whose event was the last (−1: it does
    not end)."""
    open_jobs(z)
    result = results[t]
    for helper in range(len(z.helpers)):
        leave(z, helper)
    result.finish = 0.0 if z.common[0].todo == 0 else math.inf
    last, still, most = -1.0, 0, 1000 + 40 * (len(z.helpers) + len(z.segments))
    while z.common[0].todo > 0:
        helper = z.queue[0] if len(z.helpers) > 0 else -1
        if helper < 0 or z.helpers[helper].next_event == math.inf:
            result.missing = missing(z)
            return -1
        person = z.helpers[helper]
        now = person.next_event
        still = still + 1 if now == last else 0
        last = now
        if still > most:  # nothing can take so many steps in no time: a trial must end whatever is in the input
            result.missing = missing(z)
            return -1
        happen(z, log, now, helper)
        if z.common[0].todo == 0:
            result.finish = now
            return int(helper)
        if next_time(z, now, helper) > now + TINY:  # whatever happens at one moment has happened: who is free looks
            offer(z, now, helper)
        elif person.next_event == now and person.state == IDLE:
            reschedule(z.helpers, z.queue, helper, person.until)
    return -1
