"""What lies in the store, beside what the build takes."""

from dataclasses import replace
from datetime import date

import pytest

from buildlog.core.plan.kinds import Offcut
from buildlog.core.plan.materials.stock import PopulatePace, StockItem, Store, item_key, stocked
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
