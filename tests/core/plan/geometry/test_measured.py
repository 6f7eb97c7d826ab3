"""Rings as they were measured: what is given wins, what is missing is fitted, what no ball has is refused.

Heights count from the lowest point of the full ball: on a ball of radius R, h = R·(1 + cos θ).
"""

import math

import pytest

from buildlog.core.plan.geometry.layout import Layout
from buildlog.core.plan.geometry.measured import by_table, corrected
from buildlog.core.plan.geometry.rings import lay_rings
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from tests.core.plan.conftest import BALL, ball, problem_of

RADIUS, PITCH = 1.3, 0.03


def rings(*polar_deg: float, radius: float = RADIUS, pitch: float = PITCH) -> list[MeasuredRing]:
    """What somebody would measure on a true ball."""
    return [
        MeasuredRing(
            number,
            math.floor(math.tau * radius * math.sin(math.radians(polar)) / pitch),
            radius * (1 + math.cos(math.radians(polar))),
        )
        for number, polar in enumerate(polar_deg, start=1)
    ]


def laid(rows: list[MeasuredRing], **also) -> Layout:
    """A table that stands alone."""
    given = {"diameter_m": 2 * RADIUS, "pitch_m": PITCH, "measured": tuple(rows)} | also
    return by_table(PlanParameters(**given), rows)


def test_heights_are_angles_and_what_is_given_is_used():
    layout = laid(rings(40, 90, 150))
    assert [math.degrees(angle) for angle in layout.polar] == pytest.approx([40, 90, 150])
    assert (layout.radius_m, layout.pitch_m) == (RADIUS, PITCH)
    assert layout.spacing_m == pytest.approx(RADIUS * math.radians(110) / 2)
    assert layout.remarks == () and layout.shift_m.tolist() == [0, 0, 0]


@pytest.mark.parametrize(
    ("known", "code"),
    [
        ({"diameter_m": None, "pitch_m": None}, "fitted"),
        ({"diameter_m": None}, "fitted diameter"),
        ({"pitch_m": None}, "fitted pitch"),
    ],
)
def test_what_is_missing_is_fitted_and_said(known, code):
    layout = laid(rings(*range(30, 150, 4)), **known)
    assert layout.radius_m == pytest.approx(RADIUS, rel=0.005) and layout.pitch_m == pytest.approx(PITCH, rel=0.01)
    (remark,) = layout.remarks
    assert remark.code == code and remark.figures["worst_m"] < PITCH
    assert ("diameter_m" in remark.figures) == (known.get("diameter_m", 1) is None)
    assert ("pitch_m" in remark.figures) == (known.get("pitch_m", 1) is None)


def test_a_pitch_that_does_not_fit_is_said():
    (remark,) = laid(rings(40, 90, 150), pitch_m=0.05).remarks
    assert remark.code == "misfit" and remark.figures["worst_m"] > 0.05


def test_two_rings_are_enough_when_both_numbers_are_given_and_no_less():
    layout = laid(rings(60, 90))
    assert layout.remarks == () and layout.spacing_m == pytest.approx(RADIUS * math.radians(30))
    problem = problem_of(lambda: laid(rings(60, 90), pitch_m=None))
    assert problem.field == "diameter" and "Three rings with heights" in problem.sentence.template


def test_one_ring_has_the_pitch_for_its_spacing():
    layout = laid(rings(90))
    assert layout.spacing_m == PITCH and layout.pixels.tolist() == [272]


@pytest.mark.parametrize("height", [0.0, -0.1, 2 * RADIUS, 3.0])
def test_a_height_that_is_not_on_the_ball(height):
    problem = problem_of(lambda: laid([MeasuredRing(1, 10, height)]))
    assert problem.field == "rings" and "heights count from the lowest point" in problem.sentence.template
    assert problem.sentence.values["what"].values["ring"] == 1


def test_ring_1_is_the_top_one():
    rows = rings(40, 90, 80)
    problem = problem_of(lambda: laid(rows))
    assert problem.sentence.values == {"ring": 3, "above": 2} and "is not lower than" in problem.sentence.template
    level = [rows[0], MeasuredRing(2, 100, rows[0].height_m)]
    assert problem_of(lambda: laid(level)).sentence.values == {"ring": 2, "above": 1}


def test_without_heights_the_ends_lie_where_they_hold_their_pixels():
    """A ring of n pixels is, on average, half a pitch longer: 2·π·R·sin θ = (n + ½)·p."""
    rows = [MeasuredRing(1, 100), MeasuredRing(2, 250), MeasuredRing(3, 150)]
    polar = laid(rows).polar
    assert math.sin(polar[0]) == pytest.approx(100.5 * PITCH / (math.tau * RADIUS)) and polar[0] < math.pi / 2
    assert math.sin(polar[2]) == pytest.approx(150.5 * PITCH / (math.tau * RADIUS)) and polar[2] > math.pi / 2
    assert polar[1] - polar[0] == pytest.approx(polar[2] - polar[1])


def test_a_widest_ring_at_an_end_lies_at_the_equator():
    falling = [MeasuredRing(1, 250), MeasuredRing(2, 200), MeasuredRing(3, 100)]
    assert laid(falling).polar[0] == math.pi / 2
    rising = [MeasuredRing(1, 100), MeasuredRing(2, 200), MeasuredRing(3, 250)]
    assert laid(rising).polar[-1] == math.pi / 2
    single = laid([MeasuredRing(1, 100)])
    assert math.sin(single.polar[0]) == pytest.approx(100.5 * PITCH / (math.tau * RADIUS))


def test_rings_of_as_many_pixels_each_lie_nowhere():
    rows = [MeasuredRing(number, 200) for number in (1, 2, 3)]
    problem = problem_of(lambda: laid(rows))
    assert problem.field == "rings" and "same height" in problem.sentence.template


def test_a_table_of_more_pixels_than_are_planned_for():
    rows = [MeasuredRing(1, 5_000_000), MeasuredRing(2, 1)]
    problem = problem_of(lambda: laid(rows))
    assert (problem.field, problem.sentence.values) == ("rings", {"pixels": 5_000_001, "most_pixels": 5_000_000})
    assert laid([MeasuredRing(1, 5_000_000)]).pixels.sum() == 5_000_000


def test_single_rings_of_the_formula_are_put_right():
    by_formula = lay_rings(BALL)
    height = RADIUS * (1 + math.cos(by_formula.polar[9] + 0.01))
    layout = corrected(by_formula, (MeasuredRing(10, 99, height), MeasuredRing(20, 77)))
    assert (layout.pixels[9], layout.pixels[19]) == (99, 77)
    assert layout.shift_m[9] == pytest.approx(0.01 * RADIUS) and layout.shift_m[19] == 0
    assert layout.polar[9] == pytest.approx(by_formula.polar[9] + 0.01)
    assert layout.pixels[8] == by_formula.pixels[8] and by_formula.pixels[9] != 99


def test_what_is_put_right_beyond_the_last_ring_is_refused():
    count = lay_rings(BALL).polar.size
    assert corrected(lay_rings(BALL), (MeasuredRing(count, 50),)).pixels[-1] == 50
    problem = problem_of(lambda: corrected(lay_rings(BALL), (MeasuredRing(count + 1, 50),)))
    assert problem.field == "rings" and problem.sentence.values["what"].values["count"] == count


def test_a_height_that_takes_a_ring_past_its_neighbour():
    by_formula = lay_rings(BALL)
    height = RADIUS * (1 + math.cos(by_formula.polar[10] + 0.001))
    problem = problem_of(lambda: corrected(by_formula, (MeasuredRing(10, 99, height),)))
    what = problem.sentence.values["what"]
    assert problem.field == "rings" and (what.values["ring"], what.values["above"]) == (11, 10)


def test_a_table_alone_and_a_table_that_corrects():
    table = tuple(rings(40, 90, 150))
    alone = PlanParameters(diameter_m=2 * RADIUS, pitch_m=PITCH, measured=table[::-1])
    assert lay_rings(alone).pixels.tolist() == [row.pixels for row in table]
    correcting = lay_rings(ball(measured=(MeasuredRing(3, 50),)))
    assert correcting.polar.size == lay_rings(BALL).polar.size and correcting.pixels[2] == 50
