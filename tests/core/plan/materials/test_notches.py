"""Notches in the ribs."""

import math

import pytest

from buildlog.core.plan.materials.notches import notches
from buildlog.core.plan.plan import compute
from tests.core.plan.conftest import BALL, ball, refusals


def test_every_rib_has_a_notch_for_every_ring() -> None:
    plan = compute(ball(ribs=12, seam_rib=2))
    table = notches(plan)
    assert len(table) == 12 * len(plan.rings)
    assert {notch.rib for notch in table if notch.seam} == {2}
    rib = [notch for notch in table if notch.rib == 5]
    assert [notch.from_ring_above_m for notch in rib[1:]] == pytest.approx([0.06] * (len(rib) - 1))
    assert rib[7].height_m == pytest.approx(1.3 + 1.3 * math.cos(rib[7].arc_m / 1.3))
    assert "number of ribs" in refusals(lambda: notches(compute(BALL)))["ribs"]
