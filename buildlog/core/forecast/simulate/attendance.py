"""Compiled: helpers come and go, and leave what was theirs to the others when they do not come again."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.heaps import pop, reschedule
from buildlog.core.forecast.simulate.random_numbers import COMES, EVERYBODY, TODAY, normal
from buildlog.core.forecast.simulate.release_work import (
    call_short,
    look_later,
    own_base,
    put,
)
from buildlog.core.forecast.simulate.state import (
    ASSIGNED,
    AWAY,
    COMES_SCORE,
    DAY,
    DAY_FORM,
    DAY_OF,
    DAY_PART,
    END,
    FORSAKEN,
    HELD,
    IDLE,
    KEY,
    KNOWN,
    MENDING,
    NEXT,
    ON_SHIFT,
    OWN_N,
    OWN_PART,
    ROOM,
    ROOM_TO,
    SHIFT,
    SHIFT_FROM,
    SHIFT_TO,
    SINCE,
    SKILL,
    START,
    STATE,
    STAYS,
    TEAM,
    UNTIL,
    USED,
    WORKED,
    Trial,
)


@step
def go(z: Trial, helper: int) -> None:
    """The shift is over: off until the next one in which the helper comes, or for good."""
    if z.who[helper, STATE] != AWAY:
        for stage in range(4):
            z.num[ON_SHIFT + stage] -= z.who[helper, SKILL + stage]
    z.who[helper, STATE] = AWAY
    at, last = z.who[helper, SHIFT] + 1, z.who[helper, SHIFT_TO]
    while at < last and not comes(z, helper, at):
        at += 1
    z.who[helper, SHIFT] = at
    reschedule(z.who, z.at, helper, z.shift[at, START] if at < last else math.inf)
    if at >= last:
        hand_over(z, helper)


@step
def hand_over(z: Trial, helper: int) -> None:
    """Never back: others go on with what was begun, do what was handed to the helper, mend what failed."""
    while z.who[helper, HELD] >= 0:
        code = z.who[helper, HELD]
        z.who[helper, HELD] = z.seg[code // 4, NEXT + code % 4]
        put(z, code // 4, code % 4)
    if z.who[helper, ROOM_TO] > z.who[helper, ROOM]:
        nobodys(z, helper)
    if z.at[helper, MENDING] > 0.0:
        z.num[FORSAKEN] += 1
        for other in range(len(z.who)):
            look_later(z, other)


@step
def nobodys(z: Trial, helper: int) -> None:
    """What was handed to the helper is anybody's."""
    for stage in range(4):
        for seg in range(len(z.seg)):
            if z.seg[seg, ASSIGNED + stage] == helper:
                z.seg[seg, ASSIGNED + stage] = -1
    for row in range(8):
        while z.who[helper, OWN_N + row] > 0:
            seg = pop(z.heap, own_base(z, helper, row), z.who[helper, OWN_N + row])
            z.who[helper, OWN_N + row] -= 1
            put(z, seg, row % 4)


@step
def comes(z: Trial, helper: int, shift: int) -> bool:
    """Is the helper there on the day of a shift? Partly their own doing, partly the day's."""
    if z.shift[shift, KNOWN] > 0.0:
        return True
    day = int(z.shift[shift, DAY_OF])
    if shift == z.who[helper, SHIFT_FROM] or z.shift[shift - 1, DAY_OF] < day:
        z.at[helper, STAYS] -= 1.0
    if z.at[helper, STAYS] < 0.0:
        return False
    score = z.tot[OWN_PART] * normal(z.num[KEY], COMES, day * 4096 + helper)
    score += z.tot[DAY_PART] * normal(z.num[KEY], EVERYBODY, day)
    return bool(score < z.at[helper, COMES_SCORE])


@step
def arrive(z: Trial, helper: int) -> None:
    """A shift begins."""
    at = z.who[helper, SHIFT]
    day = int(z.shift[at, DAY_OF])
    z.at[helper, UNTIL] = z.shift[at, END]
    z.at[helper, SINCE] = z.shift[at, START]
    if day != z.who[helper, DAY]:
        if day != 0:  # day 0 is that of as-of: what was populated on it counts
            z.at[helper, USED] = 0.0
            z.at[helper, WORKED] = 0.0
        z.who[helper, DAY] = day
        z.at[helper, DAY_FORM] = normal(z.num[KEY], TODAY, day * 4096 + helper)
    z.who[helper, STATE] = IDLE
    z.who[helper, TEAM] = 0  # nothing done in this shift so far
    for stage in range(4):
        z.num[ON_SHIFT + stage] += z.who[helper, SKILL + stage]
    call_short(z)
