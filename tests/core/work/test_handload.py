"""When a helper is told to spare their hands, and which cautions stand at which stage."""

import pytest

from buildlog.core.work.handload import HandLoad
from buildlog.core.work.stages import CLOSING, INSIDE, LADDER, POWER_ON, Stage, cautions


def test_most_of_the_time_nothing_is_said():
    assert HandLoad(today_h=1.0, unbroken_h=0.9).reminder is None


def test_past_the_limit_other_work_is_suggested():
    assert HandLoad(today_h=3.25).reminder == (
        "You pushed pixels for 3 h 15 min today, your limit is 3 h: take other work."
    )


def test_near_the_limit_what_is_left_is_said():
    assert HandLoad(today_h=2.5).reminder == "30 min of pushing pixels left today: your limit is 3 h."


@pytest.mark.parametrize(
    ("unbroken", "rest", "due"), [(0.99, 0, False), (1.0, 0, True), (1.2, 10 / 60, False), (2.0, 10 / 60, True)]
)
def test_every_hour_asks_for_its_break(unbroken, rest, due):
    assert HandLoad(today_h=unbroken, unbroken_h=unbroken, rest_h=rest).break_due is due


def test_a_build_without_breaks_asks_for_none():
    assert not HandLoad(unbroken_h=2.5, rest_min=0).break_due


def test_wiring_warns_of_power_and_of_being_inside():
    assert INSIDE in cautions(Stage.WIRE)


def test_testing_warns_of_people_inside_under_power():
    assert POWER_ON in cautions(Stage.TEST)


def test_mounting_warns_of_ladders_and_a_closing_piece_of_who_is_inside():
    assert cautions(Stage.MOUNT, closing=True)[:2] == (CLOSING, LADDER)


def test_work_that_we_know_nothing_about_has_no_caution_of_ours():
    assert cautions(None) == ()


def test_near_the_limit_there_is_a_reminder_with_what_is_left():
    assert HandLoad(today_h=2.39, limit_h=3.0).reminder is None
    assert HandLoad(today_h=2.41, limit_h=3.0).reminder == "35 min of pushing pixels left today: your limit is 3 h."
    assert HandLoad(today_h=3.0, limit_h=3.0).reminder.endswith("your limit is 3 h: take other work.")
