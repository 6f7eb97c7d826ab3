"""Lead wires: as far as the frame lets them run, and no shorter than the ball."""

import math
from dataclasses import replace

import pytest

from buildlog.core.plan.parameter_table import WiringParameters
from buildlog.core.plan.parts import ChannelWiring, Wiring
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.leads import data_leads_m, leads_m, ways_m
from buildlog.core.plan.wiring.place import on_channel, on_segment, pixel_table
from tests.core.plan.conftest import BALL, ball


def test_a_lead_from_the_bottom_runs_up_a_rib_and_along_the_ring() -> None:
    plan = compute(ball(ribs=12, wiring=WiringParameters(lead_slack_m=0.5, box_outside_m=2.0)))
    ring = plan.rings[20]
    place = on_segment(plan, "R21-1", 1)
    off = math.radians(place.azimuth_deg) * ring.radius_m
    up = math.pi * 1.3 - math.radians(ring.polar_deg) * 1.3
    assert leads_m(plan, [place])[0] == pytest.approx(up + off + 2.5)


def test_no_way_is_shorter_than_over_the_ball_nor_longer_than_round_it() -> None:
    plan = compute(ball(ribs=8, wiring=WiringParameters(box_deg=120.0, box_rib=3)))
    table = pixel_table(plan)
    ways = ways_m(plan, table.polar_deg, table.azimuth_deg)
    box, turn = math.radians(120), math.radians(90)
    spot = (math.sin(box) * math.cos(turn), math.sin(box) * math.sin(turn), math.cos(box))
    for at in range(0, table.ring.size, 997):
        place = (table.x_m[at] / 1.3, table.y_m[at] / 1.3, table.z_m[at] / 1.3)
        over = 1.3 * math.acos(max(-1.0, min(1.0, sum(a * b for a, b in zip(spot, place, strict=True)))))
        assert over - 1e-9 <= ways[at] <= math.pi * 1.3 * 2


def test_no_places_need_no_wire() -> None:
    assert leads_m(compute(BALL), []) == []


def test_leads_of_a_plan_in_force_are_as_built() -> None:
    plan = compute(BALL)
    wiring = Wiring(tuple(ChannelWiring(float(channel.number), ()) for channel in plan.channels), ())
    assert data_leads_m(replace(plan, wiring=wiring)) == [float(channel.number) for channel in plan.channels]
    assert data_leads_m(plan) == leads_m(plan, [on_channel(plan, channel.number, 1) for channel in plan.channels])
