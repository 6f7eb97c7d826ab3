"""Which pieces a helper is offered, and in which order."""

from math import pi, sin

import pytest

from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.offer import Hand, Offer, Room, distance, offers, ready_stages, standing_of, waiting
from buildlog.core.work.order import workable
from buildlog.core.work.stages import STAGES

ME, NOOR = 1, 2
P, M, W, T = STAGES


def cell(code: str, *done: int, pixels: int = 40, helper: int | None = None, closing: bool = False, **rest) -> MapCell:
    ring, piece = (int(part) for part in code[1:].split("-"))
    counts = (*done, 0, 0, 0, 0)[:4]
    bare = MapCell(code, ring, piece, pixels, piece * 30.0, piece * 30.0 + 30, counts, closing)
    now = rest.pop("now", tuple(stage for stage, _ in workable(standing_of(bare))))
    return MapCell(code, ring, piece, pixels, piece * 30.0, piece * 30.0 + 30, counts, closing, now, helper=helper)


def codes(found: tuple[Offer, ...]) -> list[str]:
    return [f"{offer.stage} {offer.cell.code}" for offer in found]


def offered(*cells: MapCell, hand: Hand | None = None, room: Room | None = None) -> list[str]:
    return codes(offers(cells, hand or Hand(ME), room or Room()))


def test_own_pieces_come_before_those_of_nobody():
    assert offered(cell("R1-1", 40, 40), cell("R2-1", helper=ME)) == ["populate R2-1", "wire R1-1"]


def test_another_s_piece_is_not_offered():
    assert offered(cell("R1-1", helper=NOOR), cell("R1-2")) == ["populate R1-2"]


def test_later_stages_come_before_earlier_ones():
    cells = cell("R1-1"), cell("R1-2", 40), cell("R1-3", 40, 40), cell("R1-4", 40, 40, 40)
    assert offered(*cells) == ["test R1-4", "wire R1-3", "mount R1-2", "populate R1-1"]


def test_a_strap_that_is_still_being_filled_is_not_mounted():
    assert ready_stages(cell("R1-1", 10)) == (P,)
    assert offered(cell("R1-1", 10)) == ["populate R1-1"]


def test_a_closing_piece_is_wired_before_it_is_mounted():
    assert ready_stages(cell("R9-1", 40, closing=True)) == (W,)


def test_what_may_not_be_worked_on_now_is_not_offered():
    assert offered(cell("R1-1", 40, 40, 40, now=())) == []


def test_the_piece_left_unfinished_comes_first_even_before_a_later_stage():
    cells = cell("R1-1", 40, 40, helper=ME), cell("R5-1", 12)
    assert offered(*cells, hand=Hand(ME, last="R5-1"))[0] == "populate R5-1"


def test_what_is_near_the_last_piece_comes_first():
    cells = cell("R1-1"), cell("R1-5"), cell("R1-6"), cell("R1-11")
    last = cell("R1-4", 40, 40, 40, 40)
    assert offered(*cells, last, hand=Hand(ME, last="R1-4")) == [
        "populate R1-5", "populate R1-6", "populate R1-1", "populate R1-11",
    ]  # fmt: skip


def test_what_is_begun_comes_before_what_is_not():
    assert offered(cell("R1-1"), cell("R1-2", 3))[0] == "populate R1-2"


def test_the_stage_of_the_running_stint_is_kept_up():
    assert offered(cell("R1-1"), cell("R1-2", 40), hand=Hand(ME, stage=P))[0] == "populate R1-1"


def test_only_what_the_helper_can_do_is_offered():
    cells = cell("R1-1"), cell("R1-2", 40), cell("R1-3", 40, 40)
    assert offered(*cells, hand=Hand(ME, skills=frozenset({"populate", "wire"}))) == ["wire R1-3", "populate R1-1"]


def test_where_nobody_fits_any_more_nothing_is_offered():
    room = Room(limits={"wire": 2}, at_work={"wire": 2})
    assert offered(cell("R1-1", 40, 40), cell("R1-2"), room=room) == ["populate R1-2"]


def test_there_is_room_while_fewer_are_at_work_than_fit():
    assert offered(cell("R1-1", 40, 40), room=Room(limits={"wire": 2}, at_work={"wire": 1})) == ["wire R1-1"]


def test_a_piece_that_others_are_at_is_not_offered():
    assert offered(cell("R1-1", 12), room=Room(taken=frozenset({"R1-1"}))) == []


def test_tired_hands_are_offered_no_populating_that_is_not_theirs():
    hand = Hand(ME, populate_left_h=0)
    assert offered(cell("R1-1"), cell("R1-2", 40), hand=hand) == ["mount R1-2"]


def test_tired_hands_see_their_own_populating_last():
    cells = cell("R1-1", helper=ME), cell("R1-2", 40)
    assert offered(*cells, hand=Hand(ME, populate_left_h=-0.2)) == ["mount R1-2", "populate R1-1"]


def test_an_offer_says_how_many_hands_the_piece_needs_and_what_is_left():
    (offer,) = offers([cell("R1-1", 40, 15)], Hand(ME), Room(hands={"mount": 2}))
    assert (offer.hands, offer.pixels, offer.count, offer.begun) == (2, 25, 15, True)


def test_own_pieces_that_wait_for_something_are_named():
    cells = (
        cell("R1-1", 40, 40, 40, now=(), helper=ME),
        cell("R1-2", helper=ME),
        cell("R1-3", 40, 40, 40, 40, helper=ME),
    )
    assert [one.code for one in waiting(cells, Hand(ME))] == ["R1-1"]


@pytest.mark.parametrize("apart", [1, 3, 6])
def test_distance_on_one_ring_is_the_chord(apart):
    """Chord of a circle of radius r over the angle a: 2 r sin(a/2) (school geometry)."""
    ring = sin(pi * 0.5 / 4)
    assert distance(cell("R1-1"), cell(f"R1-{1 + apart}"), 4) == pytest.approx(2 * ring * sin(apart * pi / 12))
