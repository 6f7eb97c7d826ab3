"""Compiled: helpers arrive and leave, and pass what was theirs to the others when they leave for good.

Times are hours after as-of.
"""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.heaps import own_base, pop, reschedule
from buildlog.core.forecast.simulate.random_numbers import ATTENDANCE, DAY_EFFECT, SHARED_ATTENDANCE, normal
from buildlog.core.forecast.simulate.records import AWAY, CODES, HEAPS, IDLE
from buildlog.core.forecast.simulate.release_work import call_short, look_later, put
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import STAGE_COUNT

DAY_CODES = 4096  # a helper's day is one number: day·DAY_CODES + helper


@step
def leave(z: Trial, helper: int) -> None:
    """The shift is over: off until the next one in which the helper comes, or for good."""
    person = z.helpers[helper]
    if person.state != AWAY:
        for stage in range(STAGE_COUNT):
            z.stages[stage].on_shift -= person.skill[stage]
    person.state = AWAY
    at, last = person.shift + 1, person.shift_to
    while at < last and not attends(z, helper, at):
        at += 1
    person.shift = at
    reschedule(z.helpers, z.queue, helper, z.shifts[at].start if at < last else math.inf)
    if at >= last:
        hand_over(z, helper)


@step
def hand_over(z: Trial, helper: int) -> None:
    """Never back: others go on with what was begun, do what was assigned to the helper, mend what failed."""
    person = z.helpers[helper]
    while person.held >= 0:
        stage, seg = person.held % CODES, person.held // CODES
        person.held = z.segments[seg].next_held[stage]
        put(z, seg, stage)
    if person.own_to > person.own_from:
        unassign(z, helper)
    if person.mending > 0.0:
        z.common[0].abandoned_faults += 1
        for other in range(len(z.helpers)):
            look_later(z, other)


@step
def unassign(z: Trial, helper: int) -> None:
    """What was assigned to the helper is anybody's."""
    for stage in range(STAGE_COUNT):
        for seg in range(len(z.segments)):
            if z.segments[seg].assigned[stage] == helper:
                z.segments[seg].assigned[stage] = -1
    for row in range(HEAPS):
        while z.helpers[helper].own_count[row] > 0:
            seg = pop(z.heap, own_base(z, helper, row), z.helpers[helper].own_count[row])
            z.helpers[helper].own_count[row] -= 1
            put(z, seg, row % STAGE_COUNT)


@step
def attends(z: Trial, helper: int, at: int) -> bool:
    """Is the helper there on the day of a shift? Partly their own doing, partly the day's."""
    person, shift, common = z.helpers[helper], z.shifts[at], z.common[0]
    if shift.known:
        return True
    if at == person.shift_from or z.shifts[at - 1].day < shift.day:
        person.days_left -= 1.0
    if person.days_left < 0.0:
        return False
    score = common.own_part * normal(common.key, ATTENDANCE, shift.day * DAY_CODES + helper)
    score += common.shared_part * normal(common.key, SHARED_ATTENDANCE, shift.day)
    return bool(score < person.attendance)


@step
def arrive(z: Trial, helper: int) -> None:
    """A shift begins."""
    person = z.helpers[helper]
    shift = z.shifts[person.shift]
    person.until, person.since = shift.end, shift.start
    if shift.day != person.day:
        if shift.day != 0:  # day 0 is that of as-of: what was populated on it counts
            person.populated = person.worked = 0.0
        person.day = shift.day
        person.day_effect = normal(z.common[0].key, DAY_EFFECT, shift.day * DAY_CODES + helper)
    person.state = IDLE
    person.team = 0
    for stage in range(STAGE_COUNT):
        z.stages[stage].on_shift += person.skill[stage]
    call_short(z)
