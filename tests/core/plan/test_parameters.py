"""Parameters: what is refused, with which words, and what comes back from JSON."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from tests.core.plan.conftest import BALL, ball, measured, refusals


def test_every_problem_is_said_at_once_by_the_option_name() -> None:
    said = refusals(lambda: ball(diameter_m=-1.0, pitch_m=float("nan"), capacity=0, max_segment=2.5, channel_cut="no"))
    assert set(said) == {"diameter", "pitch", "capacity", "max_segment", "channel_cut"}
    assert "allowed: 50 mm to 100 m" in said["diameter"]
    assert "anywhere, joints, rings" in said["channel_cut"]


def test_millimetres_typed_without_a_unit_are_asked_about() -> None:
    assert "was 2600mm meant?" in refusals(lambda: ball(diameter_m=2600))["diameter"]


def test_a_table_with_a_gap_a_double_and_half_the_heights_is_refused() -> None:
    rows = (MeasuredRing(1, 40, 1.8), MeasuredRing(3, 60), MeasuredRing(3, 61))
    with pytest.raises(Refused) as caught:
        PlanParameters(measured=rows, diameter_m=2.0, pitch_m=0.03)
    said = " ".join(problem.what for problem in caught.value.problems)
    assert "Ring 3 is there 2 times" in said
    assert "Ring 2 missing" in said
    assert "Ring 3 without height_mm" in said


def test_people_limits_name_stages() -> None:
    assert "stages: populate, mount, wire, test" in refusals(lambda: ball(people=(("paint", 2),)))["people"]


@given(
    st.floats(min_value=0.05, max_value=100),
    st.sampled_from([(), ((3, (40, 41)),)]),
    st.sampled_from([None, (60, 64)]),
    st.sampled_from([None, measured("south-hall")]),
)
def test_json_gives_the_same_parameters_back(diameter: float, pieces: tuple, closing: tuple, rows: tuple) -> None:
    one = ball(diameter_m=diameter, hand_pieces=pieces, closing_rings=closing, measured=rows)
    assert PlanParameters.from_json(json.loads(json.dumps(one.to_json()))) == one


def test_json_with_an_unknown_name_is_refused() -> None:
    with pytest.raises(Refused, match="colour is unknown"):
        PlanParameters.from_json({**BALL.to_json(), "colour": "red"})


def test_the_order_in_which_limits_and_hand_pieces_are_said_does_not_matter():
    """A database may hand the keys of an object back in another order than they went in."""
    said = {"diameter_m": 2.0, "pitch_m": 0.03, "ring_spacing_m": 0.03}
    one = PlanParameters(**said, people=(("test", 1), ("wire", 2)), hand_pieces=((10, (40,)), (9, (40,))))
    other = PlanParameters(**said, people=(("wire", 2), ("test", 1)), hand_pieces=((9, (40,)), (10, (40,))))
    assert one == other
    turned = dict(reversed(one.to_json()["people"].items()))
    assert PlanParameters.from_json(one.to_json() | {"people": turned}) == one
