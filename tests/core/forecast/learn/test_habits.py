"""How a crew goes about it, from logs in which it shows: does begun work wait, is the order kept?"""

import math

import pytest

from buildlog.core.forecast.learn.habits import IN_ORDER, KEEPS, SHOWN, SLIP, WEAK, chance_of, habits_of
from tests.core.forecast.small import helper, inputs, segments, stint

KEPT, BROKEN = math.log(SHOWN / SLIP), math.log((1 - SHOWN) / (1 - SLIP))


def odds(chance: float) -> float:
    return math.log(chance / (1 - chance))


def seen(*stints, crew=("Una", "Ivo"), **also):
    """(log odds of keeping, of the order), less what was believed before."""
    build = inputs(8, crew=tuple(helper(name) for name in crew), stints=stints, **also)
    habits = habits_of(build)
    return round(odds(habits.keep) - odds(KEEPS), 6), round(odds(habits.in_order) - odds(IN_ORDER), 6)


def populate(segment: int, ago: float, who: int = 0, pixels: int = 50):
    return stint("populate", f"R{segment}-1", 30, pixels, (who,), ago)


def test_nothing_seen_is_what_was_believed():
    assert seen() == (0, 0)
    assert chance_of(0.5, 0, 0) == 0.5 and chance_of(0.5, 1, 0) == pytest.approx(SHOWN / (SHOWN + SLIP))
    assert chance_of(0.5, 0, 1) == pytest.approx((1 - SHOWN) / (2 - SHOWN - SLIP))
    assert 0 < chance_of(0.5, 0, 9e9) < 1e-17 and chance_of(0.5, 9e9, 0) == pytest.approx(1)  # and no overflow


def test_somebody_elses_begun_segment_taken_over_is_no_waiting():
    assert seen(populate(1, 48), populate(1, 40, who=1)) == (round(BROKEN, 6), 0)


def test_going_on_with_ones_own_while_another_began_something_else_is_waiting():
    """Ivo was free and begun another segment between, Una's one waited for her."""
    assert seen(populate(1, 48), populate(2, 45, who=1), populate(1, 40)) == (round(KEPT, 6), 0)


def test_going_on_after_a_pause_says_little_and_of_one_alone_nothing():
    assert seen(populate(1, 48), populate(1, 40)) == (round(WEAK * KEPT, 6), 0)
    assert seen(populate(1, 48), populate(1, 40), crew=("Una",)) == (0, 0)


def test_begun_work_that_others_left_alone_until_now():
    assert seen(populate(1, 48), populate(2, 45, who=1, pixels=100)) == (round(KEPT, 6), 0)
    without = (helper("Una"), helper("Ivo", skills=frozenset({"mount"})))
    build = inputs(8, crew=without, stints=(populate(1, 48), populate(2, 45, who=1, pixels=100)))
    assert habits_of(build).keep == pytest.approx(KEEPS), "who cannot do it has left nothing alone"


def test_what_says_nothing_of_a_habit():
    rework, team = populate(1, 48, pixels=0), stint("populate", "R1-1", 30, 50, (0, 1), 48)
    assert seen(rework) == seen(team) == seen(stint("Scaffold", "", 30, 0)) == seen(populate(99, 48)) == (0, 0)


def test_a_segment_begun_past_one_that_is_blocked_jumps_the_order():
    """R1-1 waits to be populated; R2-1 is, and is mounted all the same."""
    mount = stint("mount", "R2-1", 30, 100, (1,), 40)
    assert seen(populate(2, 48, pixels=100), mount)[1] == round(BROKEN, 6)


def test_an_open_segment_left_alone_behind_a_blocked_one_is_order():
    """R2-1 could be mounted, R1-1 before it could not: whoever populates instead keeps to the order."""
    assert seen(populate(2, 48, pixels=100), populate(1, 40, who=1, pixels=100))[1] == round(KEPT, 6)


def test_what_was_handed_to_somebody_says_nothing_of_order():
    handed = tuple(segments(1)) + tuple(segments(8, assigned=1)[1:])
    mount = stint("mount", "R2-1", 30, 100, (1,), 40)
    build = inputs(segments=handed, stints=(populate(2, 48, who=1, pixels=100), mount))
    assert habits_of(build).in_order == pytest.approx(IN_ORDER)
