"""Leads, channel table, mass, notches, supplies, and the whole as JSON."""

import json
import math
from datetime import date

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.compare import labour_hours, side_by_side
from buildlog.core.plan.materials.cutting import cut_list
from buildlog.core.plan.materials.mass import mass_of
from buildlog.core.plan.materials.notches import notches
from buildlog.core.plan.materials.supplies import Failures, runs_out, spare_pixels, supplies_of
from buildlog.core.plan.parameter_table import BuyingParameters, MassParameters, StockParameters, WiringParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.whole import whole_json
from buildlog.core.plan.wiring.chains import channel_table, compare_ways
from buildlog.core.plan.wiring.leads import leads_m, ways_m
from buildlog.core.plan.wiring.place import on_segment, pixel_table
from buildlog.core.plan.wiring.power import power_of
from buildlog.core.work.stages import Stage
from tests.core.plan.conftest import BALL, ball, refusals

RATES = {Stage.POPULATE: 400.0, Stage.MOUNT: 350.0, Stage.WIRE: 6.0, Stage.TEST: 15.0}


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


def test_the_channel_table_names_where_each_chain_begins_and_ends() -> None:
    plan = compute(BALL)
    table = channel_table(plan)
    assert [row.label for row in table[:2]] == ["C01", "C02"]
    assert sum(row.pixels for row in table) == plan.totals.pixels
    assert table[0].first.segment == "R1-1"
    assert (table[-1].last.ring, table[-1].last.chain) == (len(plan.rings), table[-1].pixels)
    assert all(row.lead_m > 0.5 for row in table)


def test_three_ways_of_cutting_stand_side_by_side() -> None:
    ways = {way.cut: way for way in compare_ways(compute(ball(outputs=None)))}
    assert ways["anywhere"].channels <= ways["joints"].channels <= ways["rings"].channels
    assert ways["anywhere"].inside_cuts > 0 == ways["joints"].inside_cuts == ways["rings"].inside_cuts
    assert all(way.largest <= 500 for way in ways.values())


def test_a_way_that_is_not_possible_says_why() -> None:
    ways = {way.cut: way for way in compare_ways(compute(ball(outputs=None, capacity=200)))}
    assert "longest ring has 272 pixels" in ways["rings"].refused


def test_a_whole_ball_weighs_in_on_its_axis() -> None:
    plan = compute(ball(mass=MassParameters(pixel_g=10.0, strap_g_m=50.0, frame_kg=80.0)))
    mass = mass_of(plan)
    assert mass.pixels_kg == pytest.approx(plan.totals.pixels / 100)
    assert mass.strap_kg == pytest.approx(plan.totals.strap_m * 0.05)
    assert mass.total_kg == pytest.approx(mass.pixels_kg + mass.strap_kg + mass.leads_kg + 80)
    # Seams lie in line: what the seam gaps leave open is on one side.
    assert mass.aside_m < 0.01
    assert 1.2 < mass.height_m < 1.4


def test_the_centre_of_mass_is_that_of_the_pixels() -> None:
    plan = compute(ball(mass=MassParameters(strap_g_m=0.0, lead_g_m=0.0)))
    table = pixel_table(plan)
    mounted = {"R21-1": plan.by_code["R21-1"].pixels, "R40-2": 17}
    codes = [plan.segments[at].code for at in table.segment]
    chosen = [at for at, code in enumerate(codes) if table.pixel[at] <= mounted.get(code, 0)]
    mass = mass_of(plan, mounted)
    assert mass.pixels_kg == pytest.approx(len(chosen) * 0.008)
    assert mass.x_m == pytest.approx(table.x_m[chosen].mean())
    assert mass.y_m == pytest.approx(table.y_m[chosen].mean())
    assert mass.height_m == pytest.approx(table.height_m[chosen].mean())


def test_with_nothing_mounted_only_the_frame_weighs() -> None:
    mass = mass_of(compute(ball(mass=MassParameters(frame_kg=80.0, frame_height_m=1.1))), {})
    assert (mass.total_kg, mass.height_m, mass.aside_m) == (80.0, 1.1, 0.0)
    assert mass_of(compute(BALL), {}).height_m == 1.3


def test_every_rib_has_a_notch_for_every_ring() -> None:
    plan = compute(ball(ribs=12, seam_rib=2))
    table = notches(plan)
    assert len(table) == 12 * len(plan.rings)
    assert {notch.rib for notch in table if notch.seam} == {2}
    rib = [notch for notch in table if notch.rib == 5]
    assert [notch.from_ring_above_m for notch in rib[1:]] == pytest.approx([0.06] * (len(rib) - 1))
    assert rib[7].height_m == pytest.approx(1.3 + 1.3 * math.cos(rib[7].arc_m / 1.3))
    assert "number of ribs" in refusals(lambda: notches(compute(BALL)))["ribs"]


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


def test_two_plans_stand_side_by_side() -> None:
    lines = {line.key: line for line in side_by_side(compute(BALL), compute(ball(pitch_m=0.033)), RATES)}
    assert lines["pixels"].difference < 0
    assert lines["rings"].other <= lines["rings"].one
    assert lines["cost"].one is None and lines["cost"].difference is None
    plan = compute(BALL)
    hours = labour_hours(plan, RATES)
    assert lines["labour_h"].one == pytest.approx(sum(hours.values()))
    assert hours[Stage.POPULATE] == pytest.approx(plan.totals.pixels / 400)


def test_the_whole_plan_is_one_json_document() -> None:
    plan = compute(ball(ribs=12, stock=StockParameters(roll_m=30.0)))
    out = json.loads(json.dumps(whole_json(plan, "NY", cut_list(plan, seconds=1)), allow_nan=False))
    assert {"cutting", "power", "mass", "supplies", "ways", "rings", "segments", "channels", "totals"} <= set(out)
    assert out["power"]["levels"]["peak"]["mains_w"] > out["power"]["levels"]["idle"]["mains_w"]
    assert out["channels"][0]["label"] == "C01"
    assert out["cutting"]["proved"] in (True, False)
    assert whole_json(plan)["cutting"] is None
