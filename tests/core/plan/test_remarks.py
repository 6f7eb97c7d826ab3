"""What a plan should make the lead look twice at, at the limits; and the words for it."""

from dataclasses import replace

import pytest

from buildlog.core.plan.plan import BallPlan, compute
from buildlog.core.plan.remarks import remarks
from tests.core.plan.conftest import BALL, ball

PLAN = compute(ball(outputs=None))


def told(plan: BallPlan = PLAN, **changes) -> dict[str, dict]:
    """Figures by the code of the warning, of a plan whose parts were changed."""
    given = ball(**{"outputs": None, "edge_strain_limit": 1.0} | changes)
    return {remark.code: remark.figures for remark in remarks(plan.rings, plan.segments, plan.channels, given, 0.03)}


def with_ring(number: int, **changes) -> BallPlan:
    rings = list(PLAN.rings)
    rings[number - 1] = replace(rings[number - 1], **changes)
    return replace(PLAN, rings=tuple(rings))


def test_a_plan_without_faults_has_nothing_to_say():
    assert told() == {}


def test_a_gap_that_is_short_by_a_fiftieth_of_a_pitch_is_lost_in_the_holes():
    assert told(with_ring(9, seam_gap_m=-0.00059)) == {}
    assert told(with_ring(9, seam_gap_m=-0.00061)) == {"gaps": {"rings": [9], "short_m": 0.00061, "ring": 9}}


def test_strain_above_its_limit():
    assert told(with_ring(9, edge_strain=0.5), edge_strain_limit=0.5).keys() <= {"strain"}
    assert 9 not in told(with_ring(9, edge_strain=0.2), edge_strain_limit=0.2).get("strain", {"rings": []})["rings"]
    figures = told(with_ring(9, edge_strain=0.9), edge_strain_limit=0.8)["strain"]
    assert figures == {"rings": [9], "strap_m": BALL.strap_width_m, "worst": 0.9, "limit": 0.8}


def test_segments_cut_by_hand_outside_the_limits():
    first = PLAN.segments[0]
    by_hand = {"hand_pieces": ((1, (28,)),), "min_segment": 20}
    assert told(**by_hand) == {} == told(**by_hand | {"min_segment": 28}) == told(**by_hand | {"max_segment": 28})
    assert told(**by_hand | {"min_segment": 29})["hand"] == {
        "segment": first.code, "pixels": 28, "least": 29, "most": BALL.max_segment,
    }  # fmt: skip
    assert "hand" in told(**by_hand | {"max_segment": 27})


@pytest.mark.parametrize(("more", "code"), [(0, "spares"), (1, "last spare"), (2, None), (-1, "spares")])
def test_a_tenth_of_twenty_outputs_stays_spare(more, code):
    channels = PLAN.channels[: 20 - more]
    figures = told(replace(PLAN, channels=channels * 1), outputs=20, spare_share=0.1)
    if len(channels) == 20 - more:
        assert list(figures) == ([code] if code else [])
        assert not code or (figures[code]["left"], figures[code]["spare"]) == (more, 2)


def test_rings_that_moved_to_whole_pitches():
    plan = with_ring(9, seam_gap_m=0.0, shift_m=-0.004)
    whole = sum(ring.seam_gap_m == 0 for ring in plan.rings)
    assert told(plan, snap_share=0.3)["snapped"] == {"whole": whole, "count": len(plan.rings), "moved_m": 0.004}


def test_joints_beside_the_ribs_are_counted():
    on_ribs = compute(ball(ribs=24, outputs=None))
    assert "joints" not in told(on_ribs, ribs=24)
    figures = told(PLAN, ribs=24)["joints"]
    assert figures["joints"] == len(PLAN.segments) - len(PLAN.rings) >= figures["off"] > 0
    assert figures["rings"] == sorted(set(figures["rings"]))


def test_warnings_are_said_with_their_lengths_and_rings():
    (gap,) = remarks(with_ring(9, seam_gap_m=-0.004).rings, (), (), ball(edge_strain_limit=1.0, outputs=None), 0.03)
    assert str(gap).startswith("Ring 9: the pixels need more strap than the ring is round, by up to 4 mm (ring 9).")
