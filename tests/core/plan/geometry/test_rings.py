"""From a layout to rings: heights, seams, what closes the way in."""

import math

import pytest

from buildlog.core.plan.geometry.rings import closing_flags, edge_strain, lay_rings, seam_angles, to_rings
from buildlog.core.plan.parameter_table import MeasuredRing
from tests.core.plan.conftest import BALL, ball


def test_a_ring_at_30_degrees_is_half_as_wide_as_the_ball():
    given = ball(ring_spacing_m=None, rings_count=5, top_pixels=None, top_deg=30.0, bottom_pixels=None, bottom_deg=30.0)
    first, _, middle, _, last = to_rings(lay_rings(given), given)
    assert (first.number, first.polar_deg, first.radius_m) == (1, pytest.approx(30), pytest.approx(0.65))
    assert first.height_m == pytest.approx(1.3 + 1.3 * math.sqrt(3) / 2) and last.height_m == pytest.approx(
        2.6 - first.height_m
    )
    assert first.circumference_m == pytest.approx(math.tau * 0.65)
    assert first.seam_gap_m == pytest.approx(first.circumference_m - first.pixels * 0.03)
    assert middle.edge_strain == pytest.approx(0, abs=1e-12)
    assert first.edge_strain == pytest.approx(given.strap_width_m / (2 * 1.3 * math.tan(math.radians(30))))
    assert edge_strain(lay_rings(given).polar, 1.3, given.strap_width_m)[0] == pytest.approx(first.edge_strain)


def test_seams_go_on_from_rib_to_rib():
    assert seam_angles(BALL, 3).tolist() == [0, 0, 0]
    assert seam_angles(ball(ribs=12, seam_rib=3, seam_stagger=5), 4).tolist() == [60, 210, 0, 150]


def test_whole_rings_close_the_way_in_and_a_door_closes_only_pieces():
    assert closing_flags(ball(closing_rings=(2, 3)), 4) == [False, True, True, False]
    assert closing_flags(ball(closing_rings=(3, 9)), 4) == [False, False, True, True]
    assert closing_flags(ball(ribs=12, closing_rings=(2, 3), closing_bays=(1, 2)), 4) == [False] * 4
    assert closing_flags(ball(measured=(MeasuredRing(2, 40, closing=True), MeasuredRing(3, 40))), 3) == [
        False,
        True,
        False,
    ]
