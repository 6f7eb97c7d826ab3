"""The cut list: every piece once, nothing cut from what is not there, offcuts first, soon needed first."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.core.plan.kinds import Offcut
from buildlog.core.plan.materials.cutting import PATCH, StrapCut, cut, cut_list, pieces_of
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.plan import compute
from tests.core.plan.conftest import ball, refusals

SMALL = dict(diameter_m=1.2, ring_spacing_m=0.12, top_pixels=20, bottom_pixels=20)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(1, 60), min_size=1, max_size=40),
    st.integers(60, 140),
    st.integers(0, 2),
    st.lists(st.tuples(st.integers(5, 100), st.integers(1, 3)), max_size=2),
)
def test_every_piece_is_cut_once_and_fits(
    sizes: list[int], roll: int, kerf: int, offcuts: list[tuple[int, int]]
) -> None:
    pieces = [StrapCut(f"P{number}", size) for number, size in enumerate(sizes)]
    stock = StockParameters(
        roll_m=float(roll), kerf_holes=kerf, offcuts=tuple(Offcut(float(size), often) for size, often in offcuts)
    )
    found = cut(pieces, stock, 1.0)
    assert Counter(piece for length in found.lengths for piece in length.pieces) == Counter(pieces)
    for length in found.lengths:
        used = sum(piece.holes for piece in length.pieces) + kerf * (len(length.pieces) - 1)
        assert used <= length.holes
        assert length.left_holes == max(0, length.holes - used - kerf)
    assert found.bound <= found.rolls <= found.first_fit
    there = Counter()
    for size, often in offcuts:
        there[size] += often
    assert Counter(length.holes for length in found.lengths if not length.roll) <= there


def test_a_plan_is_cut_with_a_patch_for_each_joint_and_seam() -> None:
    plan = compute(ball(**SMALL, stock=StockParameters(roll_m=6.0, kerf_holes=1)))
    found = cut_list(plan)
    pieces = [piece for length in found.lengths for piece in length.pieces]
    assert Counter(pieces) == Counter(pieces_of(plan))
    assert sum(piece.code == PATCH for piece in pieces) == plan.totals.joints + plan.totals.rings


def test_offcuts_save_rolls() -> None:
    without = cut_list(compute(ball(**SMALL, stock=StockParameters(roll_m=6.0))))
    offcuts = (Offcut(3.0, 4),)
    found = cut_list(compute(ball(**SMALL, stock=StockParameters(roll_m=6.0, offcuts=offcuts))))
    assert found.rolls == without.rolls - 2
    assert found.offcuts <= 4


def test_what_is_needed_first_is_cut_first() -> None:
    plan = compute(ball(**SMALL, stock=StockParameters(roll_m=6.0, patch_pixels=0)))
    order = {segment.code: at for at, segment in enumerate(plan.segments)}
    found = cut_list(plan)
    middles = [sum(order[piece.code] for piece in length.pieces) / len(length.pieces) for length in found.lengths]
    half = len(middles) // 2
    assert sum(middles[:half]) / half < sum(middles[half:]) / (len(middles) - half)


def test_a_longest_rest_is_left_whole() -> None:
    found = cut(
        [StrapCut("P1", 40), StrapCut("P2", 40), StrapCut("P3", 10), StrapCut("P4", 10)],
        StockParameters(roll_m=90.0),
        1.0,
    )
    assert found.rolls == 2
    assert found.longest_left_m == 80.0


def test_a_cut_list_needs_a_roll_that_is_long_enough() -> None:
    assert "length of a roll" in refusals(lambda: cut_list(compute(ball())))["roll"]
    said = refusals(lambda: cut_list(compute(ball(stock=StockParameters(roll_m=2.0)))))["roll"]
    assert "segments of at most 66" in said


def test_the_cut_list_as_json_has_every_length() -> None:
    plan = compute(ball(**SMALL, stock=StockParameters(roll_m=6.0)))
    out = cut_list(plan).as_json()
    assert out["rolls"] == len(out["lengths"])
    assert out["lengths"][0]["length_m"] == pytest.approx(6.0)
