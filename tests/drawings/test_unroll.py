"""The unrolled ball against the geometry of the sphere."""

from math import cos, pi, radians, sin

import pytest

from buildlog.drawings.unroll import Unrolled


def ball_rows(rings: int = 90, around: int = 270) -> Unrolled:
    middles = [(ring + 0.5) * pi / rings for ring in range(rings)]
    return Unrolled(tuple(range(1, rings + 1)), tuple(max(1, round(around * sin(polar))) for polar in middles))


def row_area(sheet: Unrolled, ring: int) -> float:
    upper, lower = (2 * sheet.half(ring, share) for share in (0.0, 1.0))
    return (upper + lower) / 2 * sheet.row


def test_a_rows_area_is_its_pixels():
    """All rows have one height, so equal area means width in proportion: to the last digit, not to the rounding."""
    sheet = ball_rows()
    per_pixel = [row_area(sheet, ring) / pixels for ring, pixels in zip(sheet.rings, sheet.pixels, strict=True)]
    assert per_pixel == pytest.approx([per_pixel[0]] * len(per_pixel), rel=1e-9)


@pytest.mark.parametrize(("top_deg", "bottom_deg"), [(0, 30), (30, 90), (60, 120), (140, 180)])
def test_the_share_of_a_zone_is_archimedes(top_deg, bottom_deg):
    """Archimedes, On the Sphere and Cylinder I (from memory): a zone's share of a sphere is (cos a − cos b) / 2."""
    sheet = ball_rows()
    first, last = round(top_deg / 2), round(bottom_deg / 2)
    zone = sum(row_area(sheet, ring) for ring in sheet.rings[first:last])
    whole = sum(row_area(sheet, ring) for ring in sheet.rings)
    assert zone / whole == pytest.approx((cos(radians(top_deg)) - cos(radians(bottom_deg))) / 2, abs=0.002)


def test_meridians_are_where_snyder_puts_them():
    """Sinusoidal projection, x = R (λ − λ0) cos φ (Snyder 1987, equation 30-1, from memory), squeezed sideways."""
    sheet = ball_rows(180, 720)
    for ring in (30, 60, 90, 150):
        latitude = 90 - (ring - 0.5)
        x = sheet.x(ring, 270.0) - sheet.width / 2
        assert x == pytest.approx(sheet.width / 4 * cos(radians(latitude)), abs=sheet.pitch / 2)


def test_neighbouring_rows_meet_within_a_pixel():
    sheet = ball_rows()
    gaps = [abs(sheet.half(a, 1.0) - sheet.half(b, 0.0)) for a, b in zip(sheet.rings, sheet.rings[1:], strict=False)]
    assert max(gaps) < sheet.pitch


def test_many_rings_still_have_rows_of_whole_units():
    sheet = ball_rows(700, 2100)
    assert sheet.row >= 6


def test_few_rings_do_not_fill_the_height():
    sheet = Unrolled((1, 2), (10, 10))
    assert sheet.row == sheet.height / 10
    assert sheet.y(1) == pytest.approx(sheet.height - sheet.y(2, 1.0))


def test_a_single_ring_can_be_drawn():
    assert Unrolled((1,), (10,)).patch(1, 0, 360).startswith("M")
