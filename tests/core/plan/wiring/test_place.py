"""Where one pixel is: by channel, by segment and in the table of all."""

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.place import on_channel, on_segment, pixel_table
from tests.core.plan.conftest import BALL, ball


def test_one_pixel_is_found_alike_by_channel_by_segment_and_in_the_table() -> None:
    plan = compute(ball(alternate=True, ribs=12, seam_stagger=2))
    table = pixel_table(plan)
    for at in (0, 77, 1234, plan.totals.pixels - 1):
        found = on_channel(plan, int(table.channel[at]), int(table.chain[at]))
        assert found == on_segment(plan, plan.segments[table.segment[at]].code, int(table.pixel[at]))
        assert found.azimuth_deg == pytest.approx(table.azimuth_deg[at])
        assert (found.x_m, found.y_m, found.z_m) == pytest.approx((table.x_m[at], table.y_m[at], table.z_m[at]))


def test_a_pixel_that_is_not_there_is_refused() -> None:
    plan = compute(BALL)
    with pytest.raises(Refused, match="Channel 99 is not there"):
        on_channel(plan, 99, 1)
    with pytest.raises(Refused, match="has pixels 1 to"):
        on_channel(plan, 1, 9999)
    with pytest.raises(Refused, match="R99-1 is not there"):
        on_segment(plan, "r99-1", 1)
    with pytest.raises(Refused, match="has pixels 1 to"):
        on_segment(plan, "R1-1", 0)
