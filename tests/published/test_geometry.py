"""Rings on the ball against a geodesic library, textbook curvature, and a solid's oldest theorem."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from buildlog.core.plan.geometry.layout import Layout
from buildlog.core.plan.geometry.rings import edge_strain
from buildlog.core.plan.plan import compute
from tests.core.plan.conftest import BALL, ball

# The reference: geographiclib (C. F. F. Karney) on an ellipsoid with flattening 0. Metres are scaled by 1000 because
# the library is made for planets.
SCALE = 1000.0


def sphere(radius_m: float) -> Geodesic:
    return Geodesic(radius_m * SCALE, 0.0)


def test_ring_circumference_is_what_a_geodesic_library_walks() -> None:
    plan = compute(BALL)
    earth, steps = sphere(plan.diameter_m / 2), 2000
    for ring in plan.rings[::9]:
        step = earth.Inverse(90 - ring.polar_deg, 0, 90 - ring.polar_deg, 360 / steps)["s12"] / SCALE
        # The library takes short cuts between the steps: it comes from below, by (π/steps)²/6 at most.
        assert step * steps <= ring.circumference_m * (1 + 1e-12)
        assert step * steps == pytest.approx(ring.circumference_m, rel=(math.pi / steps) ** 2)


def test_arc_from_ring_to_ring_is_the_spacing() -> None:
    plan = compute(BALL)
    earth = sphere(plan.diameter_m / 2)
    for upper, lower in zip(plan.rings, plan.rings[1:], strict=False):
        arc = earth.Inverse(90 - upper.polar_deg, 0, 90 - lower.polar_deg, 0)["s12"] / SCALE
        assert arc == pytest.approx(0.06, rel=1e-9)


def test_neighbouring_pixels_are_a_pitch_apart_along_the_ring() -> None:
    """On the ring, not over it: the straight way over the ball is a hair shorter."""
    plan = compute(BALL)
    earth = sphere(plan.diameter_m / 2)
    ring = plan.rings[20]
    turn = 360 * plan.pitch_m / ring.circumference_m
    over = earth.Inverse(90 - ring.polar_deg, 0, 90 - ring.polar_deg, turn)["s12"] / SCALE
    assert 0.999 * plan.pitch_m < over < plan.pitch_m


@pytest.mark.parametrize(
    ("latitude", "metres"),
    [
        (0, 62.831853072),
        (15, 60.690909596),
        (30, 54.413980927),
        (45, 44.428829382),
        (60, 31.415926536),
        (75, 16.262080214),
        (89, 1.096567037),
    ],
)
def test_circumference_of_parallels_on_a_ball_of_ten_metres_radius(latitude: float, metres: float) -> None:
    """Source: geographiclib, `Geodesic(R, 0)`, ring as a sum of small steps; recomputed."""
    assert layout([latitude]).circumference_m[0] == pytest.approx(metres, rel=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "area"), [(0, 30, 314.159265359), (30, 60, 229.980543911), (60, 90, 84.178721448)]
)
def test_zone_area_is_that_of_a_cylinder(low: float, high: float, area: float) -> None:
    """Archimedes, On the Sphere and Cylinder I; figures agree with geographiclib's Polygon to 2e-6; recomputed."""
    spacing = 10 * math.radians(high - low)
    zone = Layout(10.0, 1.0, spacing, polar([(low + high) / 2]), np.array([1]), np.zeros(1))
    assert zone.zone_area_pixels * spacing * 1.0 == pytest.approx(area, rel=1e-9)


def test_zone_area_agrees_with_the_library_polygon() -> None:
    plan = compute(BALL)
    half = math.degrees(0.06 / plan.diameter_m)
    earth = sphere(plan.diameter_m / 2)
    caps = [earth.Polygon() for _ in range(2)]
    for cap, ring, beyond in ((caps[0], plan.rings[0], -half), (caps[1], plan.rings[-1], half)):
        for step in range(2000):
            cap.AddPoint(90 - ring.polar_deg - beyond, step * 0.18)
    upper, lower = (cap.Compute(reverse=False, sign=True)[2] / SCALE**2 for cap in caps)
    whole = math.pi * plan.diameter_m**2
    # Counter-clockwise rings enclose what lies north of them.
    assert plan.totals.zone_area_pixels * 0.03 * 0.06 == pytest.approx((lower - upper) % whole, rel=2e-5)


def test_pixels_fill_the_zone_but_for_half_a_pixel_a_ring() -> None:
    """Whole pixels lose between none and one a ring, half on average; the rest is the zone's area."""
    plan = compute(BALL)
    lost = plan.totals.zone_area_pixels - plan.totals.pixels
    assert 0.3 * plan.totals.rings < lost < 0.7 * plan.totals.rings


@pytest.mark.parametrize("rings", [10, 50, 100])
def test_rings_at_equal_spacing_add_up_to_a_closed_form(rings: int) -> None:
    """Sum of the circumferences of N equally spaced rings on R = 1 is 2π / sin(π/2N): finite cosine sum; recomputed."""
    expected = {10: 40.164968158, 50: 200.032902470, 100: 400.016449814}
    plan = compute(ball(diameter_m=2.0, pitch_m=0.01, ring_spacing_m=None, rings_count=rings, **NO_OPENINGS))
    assert sum(ring.circumference_m for ring in plan.rings) == pytest.approx(expected[rings], rel=1e-10)
    assert expected[rings] == pytest.approx(2 * math.pi / math.sin(math.pi / 2 / rings), rel=1e-10)


@pytest.mark.parametrize(
    ("latitude", "strain"),
    [(0, 0.0), (10, 4.408e-4), (30, 1.4434e-3), (45, 2.5e-3), (60, 4.3301e-3), (80, 1.41782e-2)],
)
def test_edge_strain_follows_from_the_developed_cone(latitude: float, strain: float) -> None:
    """Geodesic curvature of parallels: M. do Carmo, Differential Geometry of Curves and Surfaces, section 4-4
    (section number from memory); R = 10 m, strap 50 mm; recomputed."""
    found = edge_strain(polar([latitude]), 10.0, 0.05)[0]
    assert found == pytest.approx(strain, rel=1e-4, abs=1e-12)


def test_edge_strain_is_what_the_edges_really_differ_by() -> None:
    """A 50 mm strap on R = 10 m at 30°: its edges differ by 0.157079469 m on the true sphere; recomputed."""
    ring = layout([30])
    strain = edge_strain(ring.polar, 10.0, 0.05)[0]
    assert 2 * strain * ring.circumference_m[0] == pytest.approx(0.157079469, rel=2e-6)


NO_OPENINGS = {"top_pixels": None, "bottom_pixels": None, "outputs": None}


def polar(latitudes: list[float]) -> np.ndarray:
    return np.radians(90.0 - np.array(latitudes, dtype=float))


def layout(latitudes: list[float]) -> Layout:
    count = len(latitudes)
    return Layout(10.0, 0.03, 0.06, polar(latitudes), np.ones(count, dtype=np.int64), np.zeros(count))
