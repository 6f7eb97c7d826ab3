"""Segments: near equal without ribs, joints on ribs with them, doors, pieces cut by hand."""

from buildlog.core.plan.geometry.strap import joints_on_ribs, near_equal, rib_marks
from buildlog.core.plan.plan import compute
from tests.core.plan.conftest import BALL, ball


def test_pieces_are_near_equal_and_longer_ones_come_first() -> None:
    assert near_equal(294, 4) == [74, 74, 73, 73]
    assert near_equal(100, 1) == [100]


def test_without_ribs_no_ring_has_more_pieces_than_it_needs() -> None:
    plan = compute(BALL)
    for ring in plan.rings:
        pieces = [segment.pixels for segment in plan.segments if segment.ring == ring.number]
        assert pieces == near_equal(ring.pixels, -(-ring.pixels // 100))


def test_joints_go_to_ribs_where_the_limits_allow() -> None:
    given = ball(max_segment=100, min_segment=20)
    assert joints_on_ribs(240, 3, [40, 80, 120, 160, 200], given) == [80, 160]
    # Ribs at 110 and 184 would make a piece too long: the joints stay even.
    assert joints_on_ribs(294, 3, [37, 74, 110, 147, 184, 220, 257], given) == [98, 196]


def test_with_enough_room_every_joint_is_on_a_rib() -> None:
    plan = compute(ball(ribs=24))
    for ring in plan.rings:
        marks = rib_marks(ring, 24, plan.pitch_m)
        joints = [one.first_pixel - 1 for one in plan.segments if one.ring == ring.number and one.piece > 1]
        assert set(joints) <= set(marks)


def test_joints_off_the_ribs_are_said() -> None:
    plan = compute(ball(ribs=8, max_segment=92))
    assert any("joints are not on a rib" in said for said in plan.warnings)


def test_a_door_closes_the_pieces_that_cover_it_and_no_others() -> None:
    plan = compute(ball(ribs=12, closing_rings=(20, 22), closing_bays=(12, 1)))
    closing = {segment.code for segment in plan.segments if segment.closing}
    assert closing == {f"R{ring}-{piece}" for ring in (20, 21, 22) for piece in (1, 3)}
    assert not any(ring.closing for ring in plan.rings)


def test_staggered_seams_walk_round_the_ribs() -> None:
    plan = compute(ball(ribs=12, seam_rib=2, seam_stagger=5))
    assert [ring.seam_deg for ring in plan.rings[:4]] == [30.0, 180.0, 330.0, 120.0]


def test_pieces_of_one_ring_can_be_set_by_hand() -> None:
    pixels = compute(BALL).rings[29].pixels
    pieces = (pixels - 150, 110, 40)
    plan = compute(ball(hand_pieces=((30, pieces),)))
    assert tuple(one.pixels for one in plan.segments if one.ring == 30) == pieces
    assert any("R30-2, cut by hand, has 110 pixels" in said for said in plan.warnings)


def test_limits_themselves_are_allowed_and_one_pixel_beyond_them_is_not() -> None:
    """A rib 18 pixels from the end, 82 from the seam: pieces of 18 and 82 where both limits allow them."""
    for least, most, joints in ((18, 82, [82]), (19, 82, [50]), (18, 81, [50]), (2, 90, [82])):
        assert joints_on_ribs(100, 2, [82], ball(min_segment=least, max_segment=most)) == joints


def test_of_two_ribs_the_nearer_to_the_even_joint_is_taken() -> None:
    given = ball(min_segment=10, max_segment=90)
    assert joints_on_ribs(100, 2, [40, 55], given) == [55] and joints_on_ribs(100, 2, [46, 55], given) == [46]
    assert joints_on_ribs(100, 1, [40, 55], given) == []


def test_ribs_stand_evenly_and_never_at_the_ends() -> None:
    ring = compute(BALL).rings[30]
    marks = rib_marks(ring, 6, 0.03)
    assert len(marks) == 5 and all(0 < mark < ring.pixels for mark in marks)
    assert marks == [round(rib * ring.circumference_m / 0.03 / 6) for rib in range(1, 6)]
