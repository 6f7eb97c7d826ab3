"""A plan as a screen shows it: one table from a row on, and what takes long only when it is looked at."""

from dataclasses import replace

import pytest

from buildlog.core.plan import look
from buildlog.core.plan.look import LOOKS, ROWS, PlanLook
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.plan import compute
from buildlog.core.work.stages import STAGES
from tests.core.plan.conftest import BALL, ball

RATES = {stage: stage.facts.rate for stage in STAGES}


@pytest.fixture(scope="module")
def plan():
    return compute(ball(ribs=12, stock=StockParameters(roll_m=30.0)))


@pytest.mark.parametrize("table", ["rings", "channels", "notches", "cuts", "power"])
def test_a_table_begins_where_it_is_asked_to(plan, table):
    whole, later = PlanLook(plan, table), PlanLook(plan, table, start=3)
    assert list(later.all_rows) == list(whole.all_rows)[2:]
    assert later.as_file and not later.refused


def test_segments_begin_at_a_ring(plan):
    rows = PlanLook(plan, "segments", start=20).rows
    assert rows[0].code == "R20-1" and {row.ring for row in rows} == set(range(20, rows[-1].ring + 1))


def test_notches_are_those_of_one_rib(plan):
    rows = PlanLook(plan, "notches").all_rows
    assert len(rows) == plan.totals.rings and {row.rib for row in rows} == {rows[0].rib}


def test_a_screen_shows_no_more_than_it_holds(plan):
    look_at = PlanLook(plan, "segments")
    assert len(look_at.rows) == min(ROWS, len(plan.segments)) < len(look_at.all_rows) or len(plan.segments) <= ROWS
    assert look_at.rows == list(look_at.all_rows)[: len(look_at.rows)]


def test_weight_and_comparison_are_no_tables_of_rows(plan):
    for table in ("weight", "beside"):
        assert PlanLook(plan, table).rows == [] and not PlanLook(plan, table).as_file
    assert set(look.AS_FILE) < set(LOOKS)


def test_a_table_that_cannot_be_made_says_why():
    bare = PlanLook(compute(BALL), "notches")
    (problem,) = bare.refused
    assert problem.field == "ribs" and not bare.as_file


def test_equal_pieces_one_after_the_other_are_one_line(plan):
    look_at = PlanLook(plan, "cuts")
    for row, length in zip(look_at.all_rows, look_at.cuts.lengths, strict=True):
        assert sum(cut.times for cut in row.pieces) == len(length.pieces)
        assert sum(cut.times * cut.holes for cut in row.pieces) == sum(piece.holes for piece in length.pieces)
        assert (row.roll, row.left_holes) == (length.roll, length.left_holes)
        codes = [cut.code for cut in row.pieces]
        assert all(code != following for code, following in zip(codes, codes[1:], strict=False)) or len(codes) > 1


def test_nobody_waits_for_what_takes_long(plan, monkeypatch):
    monkeypatch.setattr(look, "MOST_TYPED", plan.totals.pixels)
    assert not PlanLook(plan, "cuts").too_large and PlanLook(plan, "cuts").rows
    monkeypatch.setattr(look, "MOST_TYPED", plan.totals.pixels - 1)
    assert PlanLook(plan, "cuts").too_large and PlanLook(plan, "cuts").rows == []
    assert PlanLook(plan, "beside", other=plan, rates=RATES).beside == ()
    assert not PlanLook(plan, "rings").too_large


def test_power_is_reckoned_at_once_for_a_ball_of_usual_size(plan, monkeypatch):
    monkeypatch.setattr(look, "AT_ONCE", plan.totals.pixels)
    small = PlanLook(plan)
    assert small.power_at_once and small.warnings == (*plan.warnings, *small.power.warnings)
    monkeypatch.setattr(look, "AT_ONCE", plan.totals.pixels - 1)
    assert not PlanLook(plan).power_at_once and PlanLook(plan).warnings == plan.warnings
    assert PlanLook(plan, "power").power_at_once


def test_figures_beside_the_tables(plan):
    look_at = PlanLook(plan)
    assert look_at.off_zone_area == pytest.approx(plan.totals.pixels / plan.totals.zone_area_pixels - 1)
    assert look_at.outputs_free == 48 - plan.totals.channels
    assert PlanLook(compute(ball(outputs=None))).outputs_free is None
    assert {way.cut for way in look_at.ways} == {"anywhere", "joints", "rings"}


def test_the_mass_now_is_that_of_what_hangs(plan):
    assert PlanLook(plan).mass_now is None
    now = PlanLook(plan, mounted={"R1-1": 5}).mass_now
    assert now.pixels_kg == pytest.approx(5 * plan.parameters.mass.pixel_g / 1000)
    assert PlanLook(plan).mass.pixels_kg > now.pixels_kg


def test_two_plans_beside_each_other_have_rolls_where_both_have_a_roll(plan):
    without = compute(BALL)
    lines = {line.key: line for line in PlanLook(plan, "beside", other=without, rates=RATES).beside}
    assert lines["pixels"].first == without.totals.pixels and lines["pixels"].second == plan.totals.pixels
    assert lines["rolls"].first is None and lines["rolls"].second > 0
    assert PlanLook(plan, "beside").beside == ()


def test_the_side_view_draws_few_rings_and_every_one_that_closes(plan, monkeypatch):
    assert PlanLook(plan).belts == plan.rings
    closing = replace(plan, rings=tuple(replace(ring, closing=ring.number == 4) for ring in plan.rings))
    monkeypatch.setattr(look, "MOST_BELTS", -(-len(plan.rings) // 2))
    numbers = [ring.number for ring in PlanLook(closing).belts]
    assert numbers == sorted({*range(1, len(plan.rings) + 1, 2), 4})


def test_ribs_stand_evenly_from_azimuth_0(plan):
    assert PlanLook(plan).ribs_deg == tuple(range(0, 360, 30))
    assert PlanLook(compute(BALL)).ribs_deg == ()
