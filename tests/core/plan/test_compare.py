"""Two plans side by side."""

import pytest

from buildlog.core.plan.compare import labour_hours, side_by_side
from buildlog.core.plan.plan import compute
from buildlog.core.work.stages import Stage
from tests.core.plan.conftest import BALL, ball

RATES = {Stage.POPULATE: 400.0, Stage.MOUNT: 350.0, Stage.WIRE: 6.0, Stage.TEST: 15.0}


def test_two_plans_stand_side_by_side() -> None:
    lines = {line.key: line for line in side_by_side(compute(BALL), compute(ball(pitch_m=0.033)), RATES)}
    assert lines["pixels"].difference < 0
    assert lines["rings"].second <= lines["rings"].first
    assert lines["cost"].first is None and lines["cost"].difference is None
    plan = compute(BALL)
    hours = labour_hours(plan, RATES)
    assert lines["labour_h"].first == pytest.approx(sum(hours.values()))
    assert hours[Stage.POPULATE] == pytest.approx(plan.totals.pixels / 400)
