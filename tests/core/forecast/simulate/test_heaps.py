"""Heaps give the smallest first, whatever the order in which numbers came; the queue keeps helpers by their time."""

import heapq

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.forecast.simulate.heaps import pop, push, reschedule
from buildlog.core.forecast.simulate.records import HELPER

BASE = 3  # other heaps lie before and behind


@given(st.lists(st.one_of(st.integers(0, 50), st.none()), max_size=60))
def test_a_heap_gives_what_the_standard_librarys_gives(acts):
    heap, count, outside = np.full(70, -7), 0, []
    for value in acts:
        if value is not None:
            push(heap, BASE, count, value)
            heapq.heappush(outside, value)
            count += 1
        elif outside:
            assert pop(heap, BASE, count) == heapq.heappop(outside)
            count -= 1
    assert set(heap[:BASE]) == {-7} and set(heap[BASE + 61 :]) <= {-7}
    assert [pop(heap, BASE, left) for left in range(count, 0, -1)] == sorted(outside)


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 5)), max_size=40))
def test_the_first_of_the_queue_is_whoever_is_next_and_of_two_at_once_the_earlier_of_the_crew(changes):
    helpers, queue = np.zeros(7, HELPER), np.arange(7)
    helpers["place"] = queue
    times = [0.0] * 7
    for helper, moment in changes:
        times[helper] = float(moment)
        reschedule(helpers, queue, helper, float(moment))
        assert queue[0] == min(range(7), key=lambda each: (times[each], each))
        assert sorted(queue.tolist()) == list(range(7))
        assert [int(helpers[int(each)]["place"]) for each in queue] == list(range(7))
