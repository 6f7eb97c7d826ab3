"""What single numbers of a plan cannot show: things given twice, missing, or that exclude each other."""

import pytest

from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from tests.core.plan.conftest import ball, problem_of, refusals


def test_missing_numbers_are_named_with_an_example() -> None:
    said = refusals(PlanParameters)
    assert said["diameter"].endswith("such as 2.6m.")
    assert set(said) == {"diameter", "pitch", "ring_spacing"}


def test_an_opening_is_given_once() -> None:
    assert "give one of them" in refusals(lambda: ball(top_deg=5.0))["top_deg"]


def test_spacing_count_and_last_ring_together_are_too_much() -> None:
    assert "two of them make the third" in refusals(lambda: ball(rings_count=40))["rings_count"]


def test_bays_need_ribs_and_a_door_needs_rings() -> None:
    said = refusals(lambda: ball(closing_bays=(1, 2), seam_stagger=1))
    assert set(said) == {"closing_bays", "seam_stagger", "closing_rings"}
    assert (
        "bay 9 is not there"
        in refusals(lambda: ball(ribs=8, closing_rings=(3, 5), closing_bays=(8, 9)))["closing_bays"]
    )


def test_a_table_without_heights_needs_diameter_and_pitch() -> None:
    assert set(refusals(lambda: PlanParameters(measured=(MeasuredRing(1, 40), MeasuredRing(2, 50))))) == {
        "diameter",
        "pitch",
    }


def test_what_the_ribs_allow():
    assert ball(ribs=8, closing_rings=(3, 5), closing_bays=(8, 1)).closing_bays == (8, 1)
    assert ball(ribs=8, seam_rib=8).seam_rib == 8
    problem = problem_of(lambda: ball(ribs=8, seam_rib=9))
    assert (problem.field, problem.sentence.values) == ("seam_rib", {"seam_rib": 9, "ribs": 8})
    assert problem_of(lambda: ball(seam_rib=2)).sentence.values == {"seam_rib": 2, "ribs": 1}
    door = problem_of(lambda: ball(ribs=8, closing_rings=(3, 5), closing_bays=(9, 1)))
    assert door.sentence.values == {"ribs": 8, "bays": 9}


def test_the_shortest_segment_is_no_longer_than_the_longest():
    assert ball(min_segment=50, max_segment=50).min_segment == 50
    problem = problem_of(lambda: ball(min_segment=51, max_segment=50))
    assert (problem.field, problem.sentence.values) == ("min_segment", {"shortest": 51, "longest": 50})


@pytest.mark.parametrize("end", ["top", "bottom"])
def test_either_opening_is_given_once(end):
    problem = problem_of(lambda: ball(**{f"{end}_deg": 20.0}))
    assert problem.field == f"{end}_deg" and problem.sentence.values["pixels"] == f"{end}_pixels"


def test_heights_stand_in_for_diameter_and_pitch_in_a_table_alone():
    heights = tuple(MeasuredRing(number, 40, 2.0 - number / 2) for number in (1, 2, 3))
    assert PlanParameters(measured=heights).diameter_m is None
    for also in ({"ring_spacing_m": 0.1}, {"rings_count": 9}):
        assert set(refusals(lambda also=also: PlanParameters(measured=heights, **also))) == {"diameter", "pitch"}
