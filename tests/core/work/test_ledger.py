"""The ledger: the same entries give the same state, in whatever order and however often they arrive."""

from __future__ import annotations

from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.work.ledger import Entry, LedgerKind, fold, shown
from buildlog.core.work.stages import STAGES, Stage

A = UUID(int=1)
B = UUID(int=2)


@st.composite
def ledgers(draw: st.DrawFn) -> list[Entry]:
    """Ticks on a few segments, and undos of some of them."""
    ticks = [
        Entry(
            UUID(int=number),
            draw(st.sampled_from(["R1-1", "R1-2", "R2-1"])),
            draw(st.sampled_from(STAGES)),
            draw(st.integers(1, 60)),
        )
        for number in range(1, draw(st.integers(1, 25)))
    ]
    undone = [tick for tick in ticks if draw(st.booleans())]
    undos = [
        Entry(UUID(int=tick.id.int + 1000), tick.segment, tick.stage, -tick.pixels, LedgerKind.UNDO, tick.id)
        for tick in undone
    ]
    return [*ticks, *undos]


@given(ledgers(), st.randoms(use_true_random=False), st.integers(1, 4))
def test_any_order_and_any_repetition_give_the_same_state(entries, chance, times):
    expected = fold(entries)
    arrived = entries * times
    chance.shuffle(arrived)
    assert fold(arrived) == expected


@given(ledgers())
def test_the_state_is_the_plain_sum_over_distinct_entries(entries):
    for (segment, stage), total in fold(entries).items():
        assert total == sum(e.pixels for e in entries if (e.segment, e.stage) == (segment, stage))


def test_one_id_with_two_contents_is_refused():
    with pytest.raises(Refused, match="other content"):
        fold([Entry(A, "R1-1", Stage.MOUNT, 5), Entry(A, "R1-1", Stage.MOUNT, 6)])


def test_an_undo_that_arrives_before_its_tick_takes_it_back_all_the_same():
    undo = Entry(B, "R1-1", Stage.MOUNT, -5, LedgerKind.UNDO, A)
    assert fold([undo, Entry(A, "R1-1", Stage.MOUNT, 5)]) == {("R1-1", Stage.MOUNT): 0}


@pytest.mark.parametrize(("total", "seen"), [(-3, 0), (0, 0), (25, 25), (40, 40), (61, 40)])
def test_sums_are_limited_only_when_shown(total, seen):
    assert shown(total, 40) == seen


@pytest.mark.parametrize(
    ("pixels", "kind", "undoes"),
    [
        (0, LedgerKind.TICK, None),
        (-1, LedgerKind.TICK, None),
        (1, LedgerKind.REOPEN, None),
        (-1, LedgerKind.UNDO, None),
    ],
)
def test_an_entry_that_makes_no_sense_is_refused_at_birth(pixels, kind, undoes):
    with pytest.raises(Refused):
        Entry(A, "R1-1", Stage.MOUNT, pixels, kind, undoes)
