"""Names of wires, and feeds along a chain; resistances are held against tables in tests/published."""

import math

import pytest

from buildlog.core.plan.wiring.wire import BY_AREA, BY_AWG, chain_drops, feed_pixels, wire
from tests.core.plan.conftest import problem_of


@pytest.mark.parametrize("name", ["AWG 18", "awg18", " 18 AWG ", "18awg"])
def test_a_gauge_by_any_of_its_names(name):
    """AWG 18: 1.024 mm, 20.9 Ω/km (ASTM B258, from memory); with 1/58 Ω·mm²/m it is 20.95."""
    assert wire(name).name == "AWG 18" and wire(name).ohm_m == pytest.approx(0.02095, abs=5e-5)


@pytest.mark.parametrize("name", ["0.75 mm2", "0,75mm²", "0.75", "0.75 qmm"])
def test_an_area_by_any_of_its_names(name):
    assert wire(name).name == "0.75 mm²" and wire(name).ohm_m == 0.026  # IEC 60228, class 5


def test_an_area_that_the_norm_does_not_list_is_by_its_copper():
    assert wire("3 mm2").ohm_m == pytest.approx(1 / 58 / 3)
    assert wire("0.05").ohm_m == pytest.approx(1 / 58 / 0.05) and wire("300").ohm_m == pytest.approx(1 / 58 / 300)
    assert wire("AWG 36").ohm_m == pytest.approx(1 / 58 / (math.pi / 4 * 0.127**2))  # 0.005 in is 0.127 mm


@pytest.mark.parametrize("name", ["", "rope", "AWG", "AWG 37", "0.04", "301", "AWG 100", "1 mm3"])
def test_no_wire(name):
    problem = problem_of(lambda: wire(name, "supply_wire"))
    assert problem.field == "supply_wire" and problem.sentence.values == {"name": name}


def test_what_shops_have_goes_from_thin_to_thick():
    for names in (BY_AWG, BY_AREA):
        ohms = [wire(name).ohm_m for name in names]
        assert ohms == sorted(ohms, reverse=True)


def test_one_feed_is_enough_where_little_is_lost():
    assert feed_pixels(5, 10 * 0.1 + 1e-9, 0.1, 1.0) == (1,)  # 4+3+2+1 hops' worth
    assert feed_pixels(5, 10 * 0.1 - 1e-6, 0.1, 1.0) != (1,)
    assert feed_pixels(900, 1.0, 0.1, 0.0) == (1,) and feed_pixels(1, 0.0, 0.1, 1.0) == (1,)


@pytest.mark.parametrize(("pixels", "most"), [(2, 0.0), (3, 0.0), (50, 0.0), (50, 0.05), (777, 3.3), (40, 0.9)])
def test_feeds_keep_every_pixel_within_the_drop_however_little_it_is(pixels, most):
    feeds = feed_pixels(pixels, most, 0.1, 1.0)
    assert feeds[0] == 1 and list(feeds) == sorted(set(feeds)) and feeds[-1] <= pixels
    worst = chain_drops(pixels, feeds, 0.1, 1.0).max()
    assert worst <= max(most, 0.0) + 1e-9
