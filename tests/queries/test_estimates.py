"""Estimates of a frozen plan: made once from what is built, and anew as soon as a reading, price or stock differs."""

from dataclasses import replace

import pytest

from buildlog.actions import supplies
from buildlog.core.plan.materials.stock import StockItem
from buildlog.core.plan.parameters import BuyingParameters, PowerParameters, StockParameters
from buildlog.core.plan.wiring.power import power_of
from buildlog.queries.ball_plan import as_built
from buildlog.queries.supplies import store_of
from tests.people import BALL, MONDAY

pytestmark = pytest.mark.django_db


def power(build):
    return power_of(as_built(build.plans.get()))


def items(build):
    return {item.key: item for item in store_of(build, MONDAY).items}


def change(build, **parts) -> None:
    build.plans.update(parameters=replace(BALL, **parts).to_json())


def test_power_is_reckoned_once_and_anew_with_a_reading(shed):
    before = power(shed)
    assert power(shed) is before
    change(shed, power=PowerParameters(reading_idle_w=40.0))
    after = power(shed)
    assert after.level("idle").mains_w == pytest.approx(40.0) != before.level("idle").mains_w
    assert [chain.feeds for chain in after.chains] == [chain.feeds for chain in before.chains], "those are built"


def test_supplies_follow_prices_expectations_rolls_and_stock(shed, lead):
    before = items(shed)
    assert items(shed) == before and "roll" not in before
    change(shed, buying=BuyingParameters(price_pixel=0.5, failure_share=0.2), stock=StockParameters(roll_m=2.0))
    after = items(shed)
    assert after["pixel"].price == 0.5 and after["pixel"].spares > before["pixel"].spares
    rolls = after["roll"].need
    change(shed, stock=StockParameters(roll_m=4.0))
    assert 0 < items(shed)["roll"].need < rolls
    supplies.count(build=shed, counted=[StockItem("pixel", 100)], by=lead, now=MONDAY)
    assert items(shed)["pixel"].get == before["pixel"].get - 100
