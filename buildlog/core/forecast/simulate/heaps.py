"""Two small compiled heaps: whole numbers, smallest first; and helpers by the time of their next event."""

from __future__ import annotations

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.state import F8, I8, PLACE, QUEUE, WHEN


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
def reschedule(who: I8, at: F8, helper: int, moment: float) -> None:
    """Give a helper another time for the next event (ties: the earlier one of the crew first)."""
    at[helper, WHEN] = moment
    here = who[helper, PLACE]
    while here > 0:
        up = (here - 1) >> 1
        other = who[up, QUEUE]
        if at[other, WHEN] < moment or (at[other, WHEN] == moment and other < helper):
            break
        who[here, QUEUE] = other
        who[other, PLACE] = here
        here = up
    count = len(who)
    while True:
        low = 2 * here + 1
        if low >= count:
            break
        left = who[low, QUEUE]
        if low + 1 < count:
            right = who[low + 1, QUEUE]
            if at[right, WHEN] < at[left, WHEN] or (at[right, WHEN] == at[left, WHEN] and right < left):
                low += 1
                left = right
        if at[left, WHEN] > moment or (at[left, WHEN] == moment and left > helper):
            break
        who[here, QUEUE] = left
        who[left, PLACE] = here
        here = low
    who[here, QUEUE] = helper
    who[helper, PLACE] = here
