"""Learning curves: coefficient tables against the practice that trials gain, and against what the rates learn.

Our rule is the unit model (J. R. Crawford 1944): segment n of one practice unit each takes the first one's time · n^b.
T. P. Wright, Factors affecting the cost of airplanes, J. Aeronautical Sciences 3(4), 1936, has it for the mean instead.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, SegmentInput
from buildlog.core.forecast.learn.observations import Effort
from buildlog.core.forecast.learn.rates import PRACTICE_UNIT, Prior, learn, observe
from tests.published.engine import crew, given, played

UNIT = int(PRACTICE_UNIT[0])
EIGHTY, EIGHTY_FIVE, NINETY = math.log2(0.80), math.log2(0.85), math.log2(0.90)


def hours_of_units(exponent: float, units: int, first: float = 1.0) -> np.ndarray:
    """What each of so many equal segments takes one helper in a trial, the first one ``first`` hours."""
    segments = tuple(SegmentInput(f"P{n:03}", UNIT) for n in range(1, units + 1))
    inputs = ForecastInput(0.0, segments, crew(1, 1e9, skills=frozenset({"populate"})))
    done = played(inputs, given(inputs, np.full((1, 4), first / UNIT), curve=(exponent, 0, 0, 0)))
    assert [chunk.segment for chunk in done.chunks] == [segment.code for segment in segments]
    return np.array([chunk.end - chunk.start for chunk in done.chunks])


@pytest.mark.parametrize(("exponent", "printed"), [(EIGHTY, -0.321928), (EIGHTY_FIVE, -0.234465), (NINETY, -0.152003)])
def test_a_doubling_leaves_the_share_that_names_the_curve(exponent, printed):
    """Wright 1936, Crawford 1944; exponents recomputed."""
    assert exponent == pytest.approx(printed, abs=1e-6)
    hours = hours_of_units(exponent, 64)
    assert hours[1::2][:32] / hours[:32] == pytest.approx(np.full(32, 2.0**exponent), rel=1e-12)


@pytest.mark.parametrize(
    ("exponent", "each", "together"),
    [
        pytest.param(EIGHTY, (0.4765, 0.3812, 0.2838, 0.2271), (6.3154, 10.4849, 20.1217, 32.6508), id="80 %"),
        pytest.param(EIGHTY_FIVE, (0.5828, 0.4954, 0.3996, 0.3397), (7.1161, 12.4023, 25.5131, 43.7539), id="85 %"),
        pytest.param(NINETY, (0.7047, 0.6342, 0.5518, 0.4966), (7.9945, 14.6078, 32.1420, 58.1410), id="90 %"),
    ],
)
def test_unit_and_cumulative_tables(exponent, each, together):
    """F. R. Jacobs and R. B. Chase, Operations and Supply Chain Management, learning curve tables for units 10, 20,
    50, 100 (80 % seen; 85 % and 90 % recomputed, one entry seen in W. J. Stevenson, Operations Management, 7S.1)."""
    hours = hours_of_units(exponent, 100)
    at = np.array([10, 20, 50, 100]) - 1
    assert hours[at] == pytest.approx(each, abs=0.5e-4)
    assert np.cumsum(hours)[at] == pytest.approx(together, abs=0.5e-4)


def test_a_first_unit_of_100_000_hours():
    """Jacobs and Chase, exhibit 4A.2: 80 %, at each doubling up to 256 units."""
    hours = hours_of_units(EIGHTY, 256, 100_000)
    at = np.array([2, 4, 8, 16, 32, 64, 128, 256])
    total = np.cumsum(hours)[at - 1]
    assert np.rint(hours[at - 1]).tolist() == [80000, 64000, 51200, 40960, 32768, 26214, 20972, 16777]
    assert np.rint(total).tolist() == [180000, 314210, 534591, 892014, 1467862, 2392447, 3874384, 6247572]
    assert np.rint(total / at).tolist() == [90000, 78553, 66824, 55751, 45871, 37382, 30269, 24405]


def test_unit_250_at_75_percent():
    """H. Kerzner, Project Management, chapter 18, seen in a secondary source: 82.1 h; 34,170 and 137 rounded there."""
    hours = hours_of_units(math.log2(0.75), 250, 812)
    assert round(hours[-1], 1) == 82.1
    assert hours.sum() == pytest.approx(34_170, abs=5) and round(hours.mean()) == 137


def test_ours_is_the_unit_model_and_not_that_of_the_mean():
    """80 %, 16 units of 100 h: 892.014 by units, 655.36 were the mean to fall (a study text's table, recomputed)."""
    total = hours_of_units(EIGHTY, 16, 100).sum()
    assert total == pytest.approx(892.014, abs=1e-3)
    of_the_mean = 16 * 100 * 16**EIGHTY
    assert of_the_mean == pytest.approx(655.36, abs=1e-3)


def test_a_lot_in_the_middle_of_a_curve():
    """J. D. Camm, J. R. Evans, N. K. Womer, The unit learning curve approximation of total cost, Computers & Industrial
    Engineering 12(3), 1987: units 101 to 200 at 80 %, and their approximation by an integral."""
    lot = hours_of_units(EIGHTY, 200)[100:].sum()
    assert lot == pytest.approx(20.069152, rel=1e-6)
    power = 1 + EIGHTY
    assert lot == pytest.approx((200.5**power - 100.5**power) / power, rel=1e-6)


# ---- what the rates learn from such stints ---------------------------------------------------

WIDE = Prior(
    mean=0.0, spread=1e3, curve_sd=1e3, sigmas=(0.01,), taus=(1e-4,), omegas=(0.0,), robust=False, small_units=0.0
)  # fmt: skip


def learned_curve(hours: dict[int, float]) -> tuple[float, float]:
    """μ [log hours per pixel] and β from what some units took, all by one helper."""
    efforts = [
        Effort(0, (0,), n, UNIT, took, ((n - 1.0) * UNIT,), 0.0, 0.0, None, f"P{n}", float(n))
        for n, took in hours.items()
    ]
    seen = learn(observe(efforts, 1, WIDE)[0], 1, WIDE)
    return float(seen.mean[0] + seen.mean[4]), float(seen.mean[1])


def test_the_boat_builder():
    """A course's problem after Jacobs and Chase: 225 workers on boat 1, 180 on boat 2; boat 11 takes 103.95 (printed,
    with the exponent rounded), 103.975 without rounding."""
    mean, curve = learned_curve({1: 225.0, 2: 180.0})
    assert 2**curve == pytest.approx(0.80, abs=1e-6)
    boat = UNIT * math.exp(mean + curve * math.log(11))
    assert boat == pytest.approx(103.975, abs=1e-3) and boat == pytest.approx(103.95, abs=0.03)


@pytest.mark.parametrize("share", [0.75, 0.80, 0.90, 0.95])
def test_rates_find_the_curve_that_stints_follow(share):
    """Stints that take what a table says for their unit."""
    hours = hours_of_units(math.log2(share), 60)
    mean, curve = learned_curve({n: float(took) for n, took in enumerate(hours, 1)})
    assert 2**curve == pytest.approx(share, abs=1e-6)
    assert UNIT * math.exp(mean) == pytest.approx(1.0, rel=1e-5)
