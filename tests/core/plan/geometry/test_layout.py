"""The rings as arrays."""

import math

import numpy as np
import pytest

from buildlog.core.plan.geometry.layout import Layout, needed
from tests.core.plan.conftest import problem_of


def layout(*polar_deg: float, pixels: int = 10, spacing: float = 0.2) -> Layout:
    polar = np.radians(polar_deg)
    return Layout(1.0, 0.1, spacing, polar, np.full(polar.size, pixels), np.zeros(polar.size))


def test_a_gap_of_less_than_a_hair_is_none():
    whole = Layout(1.0, math.tau / 60, 0.2, np.radians([90.0]), np.array([60]), np.zeros(1))
    assert whole.seam_gap_m.tolist() == [0.0]
    assert layout(90.0).seam_gap_m[0] == pytest.approx(math.tau - 1)
    assert layout(90.0, pixels=70).seam_gap_m[0] == pytest.approx(math.tau - 7)


def test_the_area_of_a_zone_is_that_of_a_cylinder_of_its_height():
    """Archimedes: 2·π·R·h, h here from half a spacing above to half a spacing below."""
    half = math.sin(0.1)
    assert layout(90.0).zone_area_pixels == pytest.approx(math.tau * 2 * half / (0.1 * 0.2))


def test_a_zone_ends_at_the_poles():
    whole_ball = 4 * math.pi / (0.1 * 0.2)
    assert layout(1.0, 90.0, 179.0).zone_area_pixels == pytest.approx(whole_ball)


def test_what_is_needed_is_there_or_refused():
    assert needed(0.0) == 0.0
    assert "are needed: give them" in problem_of(lambda: needed(None)).sentence.template
