"""A measured table: every row that is wrong is named, and rings are said as people say them."""

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.warning import PlanWarning
from tests.core.plan.conftest import problem_of

GOOD = (MeasuredRing(1, 20), MeasuredRing(2, 30))


def table(*rows: MeasuredRing, **also) -> PlanParameters:
    return PlanParameters(**{"diameter_m": 1.0, "pitch_m": 0.05, "measured": rows} | also)


def test_a_table_without_rows():
    assert "has no rings" in problem_of(lambda: table()).sentence.template
    assert table(*GOOD).measured == GOOD


def test_a_table_of_more_rings_than_any_ball_has():
    rows = tuple(MeasuredRing(number, 1) for number in range(1, 5002))
    problem = problem_of(lambda: table(*rows))
    assert problem.sentence.values == {"rows": 5001, "most": 5000} and problem.field == "rings"
    assert len(table(*rows[:5000]).measured) == 5000


def test_a_ring_that_is_there_twice():
    problem = problem_of(lambda: table(*GOOD, MeasuredRing(2, 31)))
    assert problem.sentence.values == {"ring": 2, "times": 2}


@pytest.mark.parametrize("ring", [0, -1, 1.5, True, "1"])
def test_a_ring_number_that_is_none(ring):
    problem = problem_of(lambda: table(MeasuredRing(ring, 20), rings_count=3))
    assert problem.sentence.template.startswith("Ring number") and problem.sentence.values == {"ring": ring}


@pytest.mark.parametrize("pixels", [0, -5, 2.5, True, None])
def test_pixels_that_are_none(pixels):
    problem = problem_of(lambda: table(GOOD[0], MeasuredRing(2, pixels)))
    assert problem.sentence.values == {"ring": 2, "pixels": pixels}


@pytest.mark.parametrize("height", [float("nan"), float("inf"), "high"])
def test_a_height_that_is_none(height):
    problem = problem_of(lambda: table(GOOD[0], MeasuredRing(2, 30, height), rings_count=2))
    assert problem.sentence.template.startswith("Ring {ring} has height") and problem.field == "rings"


def test_a_table_alone_names_every_ring_once_and_one_that_corrects_need_not():
    problem = problem_of(lambda: table(MeasuredRing(1, 20), MeasuredRing(4, 20)))
    assert "missing: number the rings" in problem.sentence.template and "2-3" in problem.what
    assert table(MeasuredRing(1, 20), MeasuredRing(4, 20), rings_count=5)


def test_heights_are_given_for_all_or_for_none():
    problem = problem_of(lambda: table(MeasuredRing(1, 20, 0.8), MeasuredRing(2, 30)))
    assert "without height_mm" in problem.sentence.template and "Ring 2" in problem.what
    assert table(MeasuredRing(1, 20, 0.8), MeasuredRing(2, 30), rings_count=5)
    assert table(MeasuredRing(1, 20, 0.8), MeasuredRing(2, 30, 0.5))


def test_all_that_is_wrong_is_said_at_once():
    with pytest.raises(Refused) as refused:
        table(MeasuredRing(1, 0), MeasuredRing(1, 5), MeasuredRing(3, 5))
    assert len(refused.value.problems) == 3


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ([4], "Ring 4"),
        ([4, 5], "Rings 4-5"),
        ([63, 60, 1, 2, 3, 61, 62, 64], "Rings 1-3, 60-64"),
        ([1, 3, 5, 7, 9, 11, 13, 15], "Rings 1, 3, 5, 7, 9, 11, 13, 15"),
        ([1, 3, 5, 7, 9, 11, 13, 15, 17], "Rings 1, 3, 5, 7, 9, 11, 13, … 17"),
    ],
)
def test_ring_numbers_are_joined_and_many_are_cut_short(numbers, words):
    figures = {"rings": numbers, "short_m": 0.004, "ring": 4}
    assert str(PlanWarning("gaps", figures)).startswith(f"{words}: the pixels need more strap")
