"""Figures that builders quote to one another; common practice, no source."""

import math

import pytest

from buildlog.core.plan.compare import labour_hours
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.channels import channel_loads, data_order
from buildlog.core.units import FOOT, INCH
from buildlog.core.work.stages import Stage


def test_twenty_thousand_pixels_at_one_inch_make_1667_feet_of_strap() -> None:
    rows = tuple(MeasuredRing(ring, 200, 2.4 - ring * 0.023) for ring in range(1, 101))
    plan = compute(PlanParameters(diameter_m=8 * FOOT, pitch_m=INCH, measured=rows))
    assert plan.totals.pixels == 20_000
    assert round(plan.totals.strap_m / FOOT) == 1667


@pytest.mark.parametrize("cut", ["anywhere"])
def test_20028_pixels_at_700_a_channel_need_29_channels(cut: str) -> None:
    rows = tuple(MeasuredRing(ring, 3338, 2.0 - ring * 0.2) for ring in range(1, 7))
    given = PlanParameters(diameter_m=2.4, pitch_m=0.002, measured=rows, capacity=700, outputs=29, channel_cut=cut)
    plan = compute(given)
    assert plan.totals.pixels == 20_028
    assert plan.totals.channels == 29 == math.ceil(20_028 / 700)
    assert max(channel_loads(data_order(plan.segments, given), given)) == 691
    assert any("0 are left" in said for said in plan.warnings)


def test_a_hundred_pixels_in_fifteen_minutes_make_fifty_hours_of_twenty_thousand() -> None:
    rows = tuple(MeasuredRing(ring, 200, 2.4 - ring * 0.023) for ring in range(1, 101))
    plan = compute(PlanParameters(diameter_m=8 * FOOT, pitch_m=INCH, measured=rows))
    assert labour_hours(plan, {Stage.POPULATE: 100 / 0.25})[Stage.POPULATE] == 50.0
