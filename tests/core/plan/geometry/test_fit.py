"""Diameter and pitch from heights and counts: a ball that is known gives itself back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.plan.geometry.fit import fit_ball
from buildlog.core.plan.parameter_table import MeasuredRing
from tests.core.plan.conftest import problem_of


def exact(radius: float, pitch: float, polar_deg: list[float]) -> list[MeasuredRing]:
    """Rings whose counts are not rounded: pitch·(n + ½) is the circumference itself."""
    return [
        MeasuredRing(
            number,
            math.tau * radius * math.sin(math.radians(polar)) / pitch - 0.5,
            radius * (1 + math.cos(math.radians(polar))),
        )
        for number, polar in enumerate(polar_deg, start=1)
    ]


@given(st.floats(0.3, 5), st.floats(0.01, 0.1))
def test_an_exact_table_gives_its_ball_back(radius, pitch):
    fit = fit_ball(exact(radius, pitch, [35, 60, 90, 140]))
    assert fit.diameter_m == pytest.approx(2 * radius, rel=1e-6) and fit.pitch_m == pytest.approx(pitch, rel=1e-6)
    assert fit.worst_m < 1e-6


def test_what_is_given_stays_as_given():
    rows = exact(1.3, 0.03, [35, 60, 90, 140])
    assert fit_ball(rows, diameter_m=2.7).diameter_m == 2.7
    assert fit_ball(rows, pitch_m=0.031).pitch_m == pytest.approx(0.031)
    both = fit_ball(rows, 2.6, 0.03)
    assert (both.diameter_m, both.worst_m) == (2.6, pytest.approx(0, abs=1e-9))
    assert fit_ball(rows, diameter_m=2.6).pitch_m == pytest.approx(0.03)


def test_the_worst_ring_is_how_far_it_lies_off_the_ball():
    rows = exact(1.3, 0.03, [35, 60, 90])
    off = MeasuredRing(4, rows[2].pixels, rows[2].height_m)  # at the equator the ring's radius is the ball's
    wider = MeasuredRing(5, off.pixels * 1.1 + 0.05, off.height_m)
    assert fit_ball([*rows, wider], 2.6, 0.03).worst_m == pytest.approx(0.13)


def test_two_rings_say_too_little():
    assert problem_of(lambda: fit_ball(exact(1.3, 0.03, [35, 90]))).field == "diameter"


def test_numbers_that_are_no_ball():
    rows = [MeasuredRing(1, 10, 0.5), MeasuredRing(2, 100, 0.1), MeasuredRing(3, 10, 0.4)]
    problem = problem_of(lambda: fit_ball(rows, diameter_m=0.3))
    assert problem.field == "rings" and "fit no ball" in problem.sentence.template
