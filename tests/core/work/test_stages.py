"""The four stages, as a crew knows them."""

import pytest

from buildlog.core.work.stages import (
    CLOSING,
    COUNTED_IN_PIXELS,
    INSIDE,
    STAGE_COUNT,
    STAGES,
    Stage,
    cautions,
    order_of,
    stage_after,
    stage_before,
    stage_index,
)

P, M, W, T = Stage


def test_four_stages_in_their_order_with_their_words():
    assert [(stage.value, stage.done, stage.number) for stage in STAGES] == [
        ("populate", "populated", 0), ("mount", "mounted", 1), ("wire", "wired", 2), ("test", "tested", 3),
    ]  # fmt: skip
    assert STAGE_COUNT == 4 and COUNTED_IN_PIXELS == (True, True, False, False)


def test_standard_rates_limits_and_hand_hours():
    """Common practice: a hundred pixels in a quarter of an hour; two people fit inside (from memory)."""
    assert [stage.facts.rate for stage in STAGES] == [400, 350, 6, 15]
    assert [stage.facts.people for stage in STAGES] == [None, None, 2, 2]
    assert [stage.facts.hours_a_day for stage in STAGES] == [3.0, None, None, None]


def test_a_closing_segment_is_wired_before_it_is_mounted():
    assert order_of(closing=False) == (P, M, W, T) and order_of(closing=True) == (P, W, M, T)


@pytest.mark.parametrize("closing", [False, True])
def test_what_comes_before_and_after_follows_the_order(closing):
    order = order_of(closing)
    assert [stage_before(stage, closing) for stage in order] == [None, *order[:-1]]
    assert [stage_after(stage, closing) for stage in order] == [*order[1:], None]


def test_who_mounts_what_closes_the_way_in_is_told_so_first():
    assert cautions(M, closing=True) == (CLOSING, *cautions(M))
    assert cautions(W, closing=True) == cautions(W) and INSIDE in cautions(W)
    assert cautions(None) == cautions(None, closing=True) == ()


def test_a_stage_word_is_a_place_and_a_job_is_none():
    assert [stage_index(stage.value) for stage in STAGES] == [0, 1, 2, 3]
    assert stage_index("Scaffold") is None and stage_index("") is None
