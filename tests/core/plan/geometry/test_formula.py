"""Rings by formula, with the openings given as angles, as pixels or not at all; the rest is refused in sentences."""

import math

import numpy as np
import pytest

from buildlog.core.plan.geometry.formula import by_formula, snap
from buildlog.core.plan.parameters import PlanParameters
from tests.core.plan.conftest import problem_of

RADIUS, PITCH = 0.5, 0.05


def given(**also) -> PlanParameters:
    return PlanParameters(**{"diameter_m": 2 * RADIUS, "pitch_m": PITCH} | also)


def angles(**also) -> list[float]:
    return [math.degrees(angle) for angle in by_formula(given(**also)).polar]


def test_openings_as_angles_hold_the_first_and_last_ring():
    assert angles(rings_count=5, top_deg=40, bottom_deg=40) == pytest.approx([40, 65, 90, 115, 140])
    assert angles(rings_count=2, top_deg=30, bottom_deg=100) == pytest.approx([30, 100])  # above 90° from the top
    assert angles(rings_count=2, top_deg=30, bottom_deg=90) == pytest.approx([30, 90])


def test_next_to_an_opening_that_is_not_given_half_a_spacing_is_left():
    assert angles(rings_count=3) == pytest.approx([30, 90, 150])
    assert angles(rings_count=3, top_deg=30) == pytest.approx([30, 90, 150])
    assert angles(rings_count=3, bottom_deg=30) == pytest.approx([30, 90, 150])


def test_a_spacing_gives_as_many_rings_as_fit():
    step = RADIUS * math.radians(20)
    assert angles(ring_spacing_m=step, top_deg=40, bottom_deg=40) == pytest.approx([40, 60, 80, 100, 120, 140])
    assert len(angles(ring_spacing_m=step * 1.01, top_deg=40, bottom_deg=40)) == 5
    assert angles(ring_spacing_m=step) == pytest.approx([10 + 20 * n for n in range(9)])


def test_an_opening_in_pixels_lies_where_a_ring_holds_them():
    layout = by_formula(given(rings_count=3, top_pixels=20, bottom_pixels=30))
    assert layout.pixels[[0, -1]].tolist() == [20, 30]
    assert math.sin(layout.polar[0]) == pytest.approx(20 * PITCH / (math.tau * RADIUS))
    assert layout.polar[0] < math.pi / 2 < layout.polar[-1]


@pytest.mark.parametrize(("field", "other"), [("top_pixels", "bottom_deg"), ("bottom_pixels", "top_deg")])
def test_an_opening_wider_than_the_ball(field, other):
    widest = math.floor(math.tau * RADIUS / PITCH)
    also = {"rings_count": 3, other: 20}
    assert by_formula(given(**also, **{field: widest})).pixels.max() == widest
    problem = problem_of(lambda: by_formula(given(**also, **{field: widest + 1})))
    assert problem.field == field
    assert problem.sentence.values["need"].values["most"] == widest
    assert problem.sentence.values["what"].values["pixels"] == widest + 1


def test_openings_that_cross():
    problem = problem_of(lambda: by_formula(given(rings_count=3, top_deg=100, bottom_deg=95)))
    what = problem.sentence.values["what"]
    assert (problem.field, what.values) == ("bottom_deg", {"top": pytest.approx(100), "bottom": pytest.approx(95)})
    assert angles(ring_spacing_m=0.1, top_deg=95, bottom_deg=95) == pytest.approx([95])


def test_rings_that_run_past_the_bottom():
    step = RADIUS * math.radians(50)
    assert len(angles(ring_spacing_m=step, rings_count=3, top_deg=40)) == 3
    problem = problem_of(lambda: by_formula(given(ring_spacing_m=step, rings_count=4, top_deg=40)))
    assert problem.field == "rings_count"
    assert (problem.sentence.values["count"], problem.sentence.values["fit"]) == (4, 3)


def test_one_ring_between_two_openings_has_no_spacing():
    problem = problem_of(lambda: by_formula(given(rings_count=1, top_deg=40, bottom_deg=40)))
    assert problem.field == "rings_count" and problem.sentence.values["what"].values["rings"].number == 1
    assert angles(rings_count=1, top_deg=60) == pytest.approx([60])


def test_a_spacing_that_leaves_no_room():
    problem = problem_of(lambda: by_formula(given(ring_spacing_m=math.pi * RADIUS * 1.01)))
    assert problem.field == "ring_spacing"
    assert angles(ring_spacing_m=math.pi * RADIUS) == pytest.approx([90])


def test_a_ring_of_less_than_a_pixel():
    top = problem_of(lambda: by_formula(given(rings_count=3, top_deg=0.5, bottom_deg=40)))
    least = top.sentence.values["least"]
    assert (top.field, top.sentence.values["what"].values["number"]) == ("top_deg", 1)
    assert math.tau * RADIUS * math.sin(math.radians(least)) == pytest.approx(PITCH)
    bottom = problem_of(lambda: by_formula(given(rings_count=3, top_deg=40, bottom_deg=0.5)))
    assert (bottom.field, bottom.sentence.values["what"].values["number"]) == ("bottom_deg", 3)


def test_a_pitch_wider_than_the_ball_is_round():
    problem = problem_of(lambda: by_formula(PlanParameters(diameter_m=0.05, pitch_m=0.2, rings_count=1)))
    assert problem.field == "pitch" and "the pitch must be at most" in problem.sentence.template


def test_a_ball_of_more_pixels_than_are_planned_for():
    """The widest ring times the rings bounds the pixels; two thirds of that are there (2/π of it, over a sphere)."""
    problem = problem_of(lambda: by_formula(given(ring_spacing_m=0.001, pitch_m=0.001, diameter_m=3)))
    what = problem.sentence.values["what"]
    assert problem.field == "pitch" and what.values["most_pixels"] == 5_000_000
    assert what.values["most"] == pytest.approx(4 * math.pi * 1.5**2 / 0.001**2, rel=0.01)  # area over pitch × spacing


def test_rings_snap_to_whole_counts_where_that_is_near():
    polar = np.radians([40.0, 90.0, 140.0])
    snapped = snap(polar, RADIUS, PITCH, 0.1)
    around = math.tau * RADIUS * np.sin(snapped) / PITCH
    assert around == pytest.approx(np.round(around)) and np.all(snapped != polar)
    assert np.all(np.abs(snapped - polar) * RADIUS <= 0.1)
    assert snapped[0] < math.pi / 2 < snapped[2]
    assert snapped[0] + snapped[2] == pytest.approx(math.pi)
    assert snap(polar, RADIUS, PITCH, 1e-7).tolist() == polar.tolist()


def test_a_snapped_ball_says_how_far_its_rings_moved():
    layout = by_formula(given(rings_count=5, top_deg=40, bottom_deg=40, snap_share=0.3))
    plain = by_formula(given(rings_count=5, top_deg=40, bottom_deg=40))
    assert layout.shift_m == pytest.approx((layout.polar - plain.polar) * RADIUS)
    assert np.count_nonzero(layout.seam_gap_m == 0) > np.count_nonzero(plain.seam_gap_m == 0)
