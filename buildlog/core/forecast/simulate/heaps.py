"""Compiled heaps: whole numbers, smallest first, that lie one after the other in ``heap``; and the queue of events,
helpers by the time of their next one.

``heap`` holds, for S segments, H helpers and A pairs of helper and assigned segment: HEAPS heaps of everybody's open
segments (S each), HEAPS of each helper's own (A in all each), then helpers (H each) who wait for work at a stage, who
wait for room at a stage, and who look for work next.
"""

from __future__ import annotations

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.records import HEAPS, I8, Records
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import STAGE_COUNT


@step
def heap_room(segments: int, helpers: int, own: int) -> int:
    """How many numbers all heaps hold."""
    return HEAPS * (segments + own) + (2 * STAGE_COUNT + 1) * helpers


@step
def ready_base(z: Trial, row: int) -> int:
    """Where a heap of everybody's open segments begins."""
    return row * len(z.segments)


@step
def own_base(z: Trial, helper: int, row: int) -> int:
    """Where a heap of a helper's own segments begins."""
    begin, end = z.helpers[helper].own_from, z.helpers[helper].own_to
    return int(HEAPS * (len(z.segments) + begin) + row * (end - begin))


@step
def idle_base(z: Trial, stage: int) -> int:
    """Where the heap of those who wait for work at a stage begins."""
    return len(z.heap) - (2 * STAGE_COUNT + 1 - stage) * len(z.helpers)


@step
def blocked_base(z: Trial, stage: int) -> int:
    """Where the heap of those who wait for room at a stage begins."""
    return len(z.heap) - (STAGE_COUNT + 1 - stage) * len(z.helpers)


@step
def lookers_base(z: Trial) -> int:
    """Where the heap of those who look for work next begins."""
    return len(z.heap) - len(z.helpers)


@step
def push(heap: I8, base: int, count: int, value: int) -> None:
    """Add a number to the heap of ``count`` numbers that begins at ``base``; the caller counts."""
    at = count
    while at > 0:
        up = (at - 1) >> 1
        if heap[base + up] <= value:
            break
        heap[base + at] = heap[base + up]
        at = up
    heap[base + at] = value


@step
def pop(heap: I8, base: int, count: int) -> int:
    """Take the smallest of ``count`` numbers; the caller counts."""
    first = heap[base]
    count -= 1
    at, low = 0, 1
    while low + 1 < count:  # the smaller of two below moves up; the gap this leaves at the bottom takes the last number
        low += int(heap[base + low + 1] < heap[base + low])
        heap[base + at] = heap[base + low]
        at, low = low, 2 * low + 1
    if low < count:
        heap[base + at] = heap[base + low]
        at = low
    push(heap, base, at, heap[base + count])
    return int(first)


@step
def reschedule(helpers: Records, queue: I8, helper: int, moment: float) -> None:
    """Give a helper another time [h after as-of] for the next event (ties: the earlier one of the crew first)."""
    helpers[helper].next_event = moment
    here = helpers[helper].place
    while here > 0:
        up = (here - 1) >> 1
        other = queue[up]
        when = helpers[other].next_event
        if when < moment or (when == moment and other < helper):
            break
        queue[here] = other
        helpers[other].place = here
        here = up
    count = len(queue)
    while True:
        low = 2 * here + 1
        if low >= count:
            break
        left = queue[low]
        when = helpers[left].next_event
        if low + 1 < count:
            right = queue[low + 1]
            when_right = helpers[right].next_event
            if when_right < when or (when_right == when and right < left):
                low, left, when = low + 1, right, when_right
        if when > moment or (when == moment and left > helper):
            break
        queue[here] = left
        helpers[left].place = here
        here = low
    queue[here] = helper
    helpers[helper].place = here
