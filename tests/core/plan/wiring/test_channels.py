"""Channels: the least number, the largest as small as it can be, three ways of cutting."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.channels import partition
from tests.core.plan.conftest import ball


def least_largest(loads: list[int], parts: int) -> int:
    """By trying every way to cut."""
    best = sum(loads)
    for cuts in combinations(range(1, len(loads)), parts - 1):
        ends = [0, *cuts, len(loads)]
        best = min(best, max(sum(loads[a:b]) for a, b in zip(ends, ends[1:], strict=False)))
    return best


@given(st.lists(st.integers(1, 30), min_size=1, max_size=9), st.integers(30, 90))
def test_the_largest_sum_is_the_least_that_the_least_count_allows(loads: list[int], most: int) -> None:
    sums = partition(loads, most)
    assert sum(sums) == sum(loads)
    assert max(sums) <= most
    assert max(sums) == least_largest(loads, len(sums))
    assert len(sums) == 1 or least_largest(loads, len(sums) - 1) > most


def test_three_ways_to_cut_keep_what_they_promise() -> None:
    for cut, whole in (("anywhere", 0), ("joints", 1), ("rings", 2)):
        plan = compute(ball(channel_cut=cut, outputs=None))
        lengths = {segment.code: segment.pixels for segment in plan.segments}
        parts = [run for channel in plan.channels for run in channel.runs if run.pixels < lengths[run.segment]]
        assert bool(parts) == (whole == 0)
        rings = [{int(run.segment[1:].split("-")[0]) for run in channel.runs} for channel in plan.channels]
        shared = any(a & b for a, b in zip(rings, rings[1:], strict=False))
        assert shared == (whole < 2)


def test_data_turns_from_ring_to_ring_when_asked() -> None:
    plan = compute(ball(alternate=True, start_from="bottom"))
    last = len(plan.rings)
    first, second = (
        plan.channels[0].runs[0],
        next(run for run in plan.channels[0].runs if run.segment.startswith(f"R{last - 1}-")),
    )
    assert first.segment == f"R{last}-1"
    assert (first.reversed, second.reversed) == (False, True)
