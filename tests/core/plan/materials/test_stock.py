"""What lies in the store, beside what the build takes."""

from dataclasses import replace
from datetime import date

import pytest

from buildlog.core.plan.kinds import Offcut
from buildlog.core.plan.materials.stock import PopulatePace, StockItem, Store, item_key, quantities, stocked
from buildlog.core.plan.materials.supplies import Failures, Item
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.parameters import PlanParameters

BALL = PlanParameters(diameter_m=1.0, pitch_m=0.05, rings_count=9, stock=StockParameters(roll_m=5.0))
FRIDAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("written", "key"),
    [("Pixels", "pixel"), ("rolls of strap", "roll"), (" power  supplies ", "supply"), ("Cable ties", "Cable ties")],
)
def test_items_are_known_by_the_words_people_write(written, key):
    assert item_key(written) == key


def test_what_lies_there_stands_in_for_what_the_plan_says():
    found = stocked(BALL, [StockItem("roll", 12, 5000), StockItem("offcut", 3, 1200)]).stock
    assert (found.roll_m, found.rolls, found.offcuts) == (5.0, 12, (Offcut(1.2, 3),))


def test_rolls_of_another_length_are_cut_up_like_offcuts():
    found = stocked(BALL, [StockItem("roll", 2, 10_000)]).stock
    assert (found.rolls, found.offcuts) == (None, (Offcut(10.0, 2),))


def test_a_roll_that_was_counted_gives_its_length_where_the_plan_has_none():
    assert stocked(replace(BALL, stock=StockParameters()), [StockItem("roll", 7, 5000)]).stock.roll_m == 5.0


def test_other_things_change_no_plan():
    assert stocked(BALL, [StockItem("Cable ties", 400), StockItem("pixel", 9000)]) is BALL


def store(have: float, a_day: float = 300.0) -> Store:
    """4,000 pixels and 100 spares; 1,000 populated, 10 of them replaced since."""
    pixels = Item("pixel", "pixels", "", 4000, 100, have, 0.0)
    return Store((pixels,), (StockItem("pixel", have),), Failures(500, 10), PopulatePace(1000, a_day), 0.05, FRIDAY)


def test_the_day_on_which_pixels_run_out_is_what_is_left_at_the_pace():
    # Recomputed: 2,000 - 1,000 - 10 = 990 left, 300 a day: three whole days, gone on the fourth.
    (pixels,) = store(2000).run_outs
    assert (pixels.left, pixels.a_day, pixels.day) == (990, 300, date(2026, 5, 4))


@pytest.mark.parametrize(("have", "a_day"), [(4100, 300), (2000, 0)])
def test_what_lasts_or_is_not_used_has_no_such_day(have, a_day):
    assert store(have, a_day).run_outs[0].day is None


def test_what_was_never_counted_is_not_said_to_run_out():
    assert replace(store(2000), holdings=()).run_outs == ()


def test_quantities_add_up_whatever_the_length():
    holdings = [
        StockItem("roll", 2, 30_000),
        StockItem("roll", 1, 5_000),
        StockItem("pixel", 400),
        StockItem("tape", 3),
    ]
    assert quantities(holdings) == {"roll": 3, "pixel": 400, "tape": 3}


def test_a_store_shows_costs_other_things_and_lengths():
    holdings = (StockItem("roll", 2, 30_000), StockItem("roll", 1), StockItem("offcut", 4, 900), StockItem("tape", 3))
    items = (Item("pixel", "pixels", "", 100, 10, 0, 0.2), Item("supply", "power supplies", "", 3, 1, 9, 40.0))
    shown = Store(items, holdings, Failures(), PopulatePace(), 0.03, FRIDAY)
    assert shown.cost == pytest.approx(110 * 0.2 + 4 * 40)
    assert shown.others == holdings[3:] and shown.lengths == (holdings[0], holdings[2])


def test_strap_goes_by_the_metre_and_only_a_pixel_is_replaced():
    strap = Item("strap", "strap", "m", 200, 0, 60, 0.0)
    holdings = (StockItem("strap", 60), StockItem("tape", 3))
    (run,) = Store((strap,), holdings, Failures(500, 10), PopulatePace(1000, 300), 0.05, FRIDAY).run_outs
    assert (run.left, run.a_day, run.unit) == (pytest.approx(10), pytest.approx(15), "m")
    assert run.day == FRIDAY


def test_offcuts_of_no_length_or_less_than_one_are_left_out():
    odd = [StockItem("offcut", 3, 1200), StockItem("offcut", 0.5, 900), StockItem("offcut", 2)]
    assert stocked(BALL, odd).stock.offcuts == (Offcut(1.2, 3),)
    assert stocked(BALL, [StockItem("roll", 2), StockItem("roll", 3, 5000)]).stock.rolls == 5
