"""What to buy, and how much of it to spare."""

import math
from datetime import date

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.materials.cutting import cut_list
from buildlog.core.plan.materials.supplies import Failures, runs_out, spare_pixels, supplies_of
from buildlog.core.plan.parameter_table import BuyingParameters, StockParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.power import power_of
from tests.core.plan.conftest import ball


def test_supplies_cover_the_plan_and_its_spares() -> None:
    plan = compute(ball(stock=StockParameters(roll_m=30.0, rolls=4), buying=BuyingParameters(price_pixel=0.2)))
    items = {
        item.key: item for item in supplies_of(plan, power_of(plan), cut_list(plan, seconds=1), have={"pixel": 9000})
    }
    assert items["pixel"].need == plan.totals.pixels
    assert items["pixel"].get == plan.totals.pixels + items["pixel"].spares - 9000
    assert items["pixel"].cost == pytest.approx((items["pixel"].need + items["pixel"].spares) * 0.2)
    assert items["roll"].have == 4
    assert items["output"].spares == pytest.approx(math.ceil(items["output"].need / 9))


def test_more_failures_ask_for_more_spares_and_tested_pixels_for_none() -> None:
    given = BuyingParameters()
    assert spare_pixels(5000, Failures(5000, 200), given) > spare_pixels(5000, Failures(5000, 20), given)
    assert spare_pixels(0, Failures(10_000, 100), given) == 0
    with pytest.raises(Refused, match="no more can fail"):
        Failures(10, 11)


def test_the_day_a_stock_runs_out() -> None:
    assert runs_out(date(2026, 5, 1), 1000, 4000, 300) == date(2026, 5, 4)
    assert runs_out(date(2026, 5, 1), 4000, 4000, 300) is None
    assert runs_out(date(2026, 5, 1), 10, 4000, 0) is None
    assert runs_out(date(2026, 5, 1), 0, 4000, 300) == date(2026, 5, 1)
