"""What a plan needs beyond the ball: refused alone, and kept in JSON."""

import json

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.settings import GROUPS, LIMITS, Offcut, PowerParameters, StockParameters
from tests.core.plan.conftest import ball, refusals


def test_a_number_outside_its_range_is_refused_by_its_option() -> None:
    said = refusals(lambda: PowerParameters(volts=230.0, brightness=2.0, hop_m=0.0))
    assert set(said) == {"volts", "brightness", "hop"}
    assert refusals(lambda: StockParameters(roll_m=0.0, offcuts=(Offcut(1.0, 0),))).keys() == {"roll", "offcuts"}


def test_a_least_voltage_that_cannot_be_kept_is_refused() -> None:
    assert "must be below 4.7 V" in refusals(lambda: PowerParameters(volts=5.0, least_volts=4.8))["least_volts"]


def test_a_number_that_must_be_there_is_asked_for() -> None:
    assert "whole number" in refusals(lambda: ball(capacity=None))["capacity"]
    assert "not None" in refusals(lambda: PowerParameters(volts=None))["volts"]


def test_groups_come_back_from_json() -> None:
    one = ball(
        stock=StockParameters(roll_m=5.0, offcuts=(Offcut(1.2, 3),)), power=PowerParameters(chain_wire="0.75 mm2")
    )
    assert PlanParameters.from_json(json.loads(json.dumps(one.to_json()))) == one


def test_older_parameters_without_the_groups_are_read_with_defaults() -> None:
    data = {name: value for name, value in ball().to_json().items() if name not in GROUPS}
    assert PlanParameters.from_json(data) == ball()


def test_an_unknown_name_in_a_group_is_refused() -> None:
    with pytest.raises(Refused, match="cannot be read"):
        PlanParameters.from_json({**ball().to_json(), "power": {"watts": 3}})


def test_every_number_has_a_limit() -> None:
    for name, kind in GROUPS.items():
        texts = {"chain_wire", "offcuts"}
        assert set(kind.__dataclass_fields__) - texts == set(LIMITS[name])
