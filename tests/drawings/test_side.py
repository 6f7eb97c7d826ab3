"""The ball from the side against the formulas of the orthographic projection."""

import re
from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.work.map_cell import MapCell
from buildlog.drawings.side import RADIUS, TILT_DEG, Belt, Sight, from_the_side, locator

angles = st.floats(1.0, 179.0)
around = st.floats(-360.0, 720.0)


def snyder(polar_deg: float, azimuth_deg: float, turn_deg: float) -> tuple[float, float, float]:
    """x, y and cos c (below zero: on the far side). Snyder 1987, equations 20-3, 20-4 and 5-3, from memory."""
    latitude, away, centre = radians(90 - polar_deg), radians(azimuth_deg - turn_deg), radians(TILT_DEG)
    x = cos(latitude) * sin(away)
    y = cos(centre) * sin(latitude) - sin(centre) * cos(latitude) * cos(away)
    near = sin(centre) * sin(latitude) + cos(centre) * cos(latitude) * cos(away)
    return RADIUS * x, RADIUS * y, near


@given(angles, around, around)
def test_points_are_where_the_projection_puts_them(polar, azimuth, turn):
    x, y = Sight(turn).point(polar, azimuth)
    wanted_x, wanted_y, _ = snyder(polar, azimuth, turn)
    assert (x, -y) == pytest.approx((wanted_x, wanted_y), abs=1e-6)


@given(angles, st.floats(0.0, 359.0), st.floats(0.0, 360.0))
def test_only_the_near_side_is_drawn(polar, azimuth, turn):
    sight = Sight(turn)
    drawn = any(begin <= azimuth + 360 * k <= end for k in (-1, 0, 1) for begin, end in sight.seen(polar, 0.0, 360.0))
    *_, near = snyder(polar, azimuth, turn)
    if abs(near) > 0.02:  # at the rim itself rounding decides
        assert drawn is (near > 0)


def test_arcs_lie_on_the_ring_s_ellipse():
    polar = 70.0
    path = Sight(30.0).arc(polar, 0.0, 90.0)
    rx, ry = (float(part) for part in re.search(r"A([\d.]+) ([\d.]+) ", path).groups())
    assert rx == pytest.approx(RADIUS * sin(radians(polar)), abs=0.01)
    assert ry / rx == pytest.approx(sin(radians(TILT_DEG)), abs=0.001)


def test_a_ring_seen_from_above_goes_all_round():
    assert Sight.reach_deg(5.0) == 180.0
    assert Sight.reach_deg(175.0) == 0.0
    assert Sight.reach_deg(90.0) == pytest.approx(90.0)


BELTS = [Belt(ring, 15.0 * ring, closing=ring == 11) for ring in range(1, 12)]


def test_the_closing_rings_look_different():
    assert 'class="side-rings closing"' in from_the_side(BELTS)


def test_segments_are_drawn_by_level_in_few_elements():
    cells = [MapCell(f"R{ring}-1", ring, 1, 40, 0.0, 360.0, (40, 20, 0, 0)) for ring in range(1, 12)]
    drawn = from_the_side(BELTS, cells, (0.0, 90.0), turn_deg=20.0)
    assert drawn.count("side-seg") == 2
    assert "side-ribs" in drawn


def test_the_locator_turns_its_segment_to_the_front():
    drawn = locator(BELTS, MapCell("R6-2", 6, 2, 40, 120.0, 240.0))
    assert 'aria-label="R6-2 is on ring 6 of 11"' in drawn
    assert re.search(r'class="here-tip" d="M0 ', drawn)


def test_a_ring_at_the_pole_is_refused():
    with pytest.raises(Refused, match="between 0 and 180"):
        Belt(1, 0.0)
