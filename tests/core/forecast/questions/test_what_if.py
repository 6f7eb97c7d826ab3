"""What-ifs meet the same luck as today; what it takes is enough, and less is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import JobInput, moment_of
from buildlog.core.forecast.questions.reach_target import what_it_takes
from buildlog.core.forecast.questions.scenario import Scenario, changed
from buildlog.core.forecast.questions.what_if import side_by_side
from buildlog.core.forecast.result.forecast import forecast
from tests.core.forecast.small import NOW, finished, helper, inputs, shifts, stint, words

TRIALS = 200


@pytest.fixture(scope="module")
def build():
    worked = tuple(stint("populate", f"R{n}-1", 14 + n, ago=60 - n) for n in range(1, 5))
    return inputs(
        number=40, crew=(helper("Una"), helper("Ivo", skills=frozenset({"populate", "mount"}))), stints=worked
    )


def test_nothing_changed_is_today_to_the_bit(build):
    today, same = side_by_side(build, [Scenario("nothing")], trials=TRIALS, seed=1)
    assert np.array_equal(today.finish, same.finish) and today.document() == same.document()


def test_one_more_helper_changes_nobody_elses_luck(build):
    today = forecast(build, trials=TRIALS, seed=1)
    more = forecast(changed(build, Scenario("more", more=(helper("Mae"),))), trials=TRIALS, seed=1)
    assert np.array_equal(more.draws.effort[:, :2], today.draws.effort)
    assert np.array_equal(more.draws.key, today.draws.key) and np.array_equal(more.draws.once, today.draws.once)
    assert np.mean(more.finish < today.finish) > 0.9


def test_the_order_changes_no_segments_luck(build):
    last = Scenario("backwards", order=tuple(segment.code for segment in reversed(build.segments)))
    today, other = side_by_side(build, [last], trials=TRIALS, seed=1)
    assert np.allclose(today.hours.sum(axis=1), other.hours.sum(axis=1), rtol=0.25)


def test_without_somebody_it_ends_later(build):
    today, without = side_by_side(build, [Scenario("no Ivo", without=frozenset({"Ivo"}))], trials=TRIALS, seed=1)
    assert np.median(without.finish) > np.median(today.finish)


def test_without_rework_no_hours_go_into_it(build):
    _, none = side_by_side(build, [Scenario("no rework", rework=False)], trials=TRIALS, seed=1)
    assert none.hours_at(90, 5) == 0


def test_more_shifts_and_another_limit(build):
    early = Scenario("Sunday", shifts=(("Una", shifts(1, begin=6, end=9)[0]),), people=(("wire", None),))
    today, sooner = side_by_side(build, [early], trials=TRIALS, seed=1)
    assert np.median(sooner.finish) < np.median(today.finish)


def test_names_that_are_not_there_are_refused_together(build):
    with pytest.raises(Refused) as refused:
        changed(build, Scenario("odd", without=frozenset({"Zoe"}), order=("R99-1",), people=(("paint", 1),)))
    assert len(refused.value.problems) == 3


def test_what_it_takes_is_enough_and_a_tenth_less_is_not(build):
    pressed = replace(build, target=NOW + 24 + 10)
    assert forecast(pressed, trials=TRIALS, seed=1).chance_by(pressed.target) < 0.8
    takes = what_it_takes(pressed, chance=0.8, trials=TRIALS, seed=1)
    assert takes.enough and takes.hours > 0 and takes.probability >= 0.8
    assert all(shift.end <= pressed.target + 1e-9 for own in takes.shifts for shift in own)
    assert "person-hours more" in words(takes.outcome) and f"{moment_of(pressed.target):%B}" in words(takes.outcome)


def test_nothing_is_needed_where_the_target_is_far(build):
    takes = what_it_takes(replace(build, target=NOW + 24 * 25), trials=TRIALS, seed=1)
    assert takes.hours == 0 and "Nothing more" in words(takes.outcome)


def test_too_near_a_target_is_said_to_be(build):
    takes = what_it_takes(replace(build, target=NOW + 3), trials=50, seed=1)
    assert not takes.enough and "The crew is there for 1 h on 1 day before it: add days, or move the" in words(
        takes.outcome
    )


def test_a_target_that_has_passed_is_refused(build):
    with pytest.raises(Refused, match="target"):
        what_it_takes(replace(build, target=NOW - 1), trials=50, seed=1)


def test_extra_hands_do_not_take_a_job_from_everybody_elses(build):
    """Nobody names the job as a skill, so everybody can do it; it takes two."""
    box = replace(build, jobs=(JobInput("Box", 2, 3, 4, hands=2),), target=NOW + 24 * 3 + 10)
    takes = what_it_takes(box, chance=0.8, trials=TRIALS, seed=1)
    assert takes.enough and takes.helpers <= 1, words(takes.outcome)


def test_where_more_hands_hardly_help_it_says_how_far_they_come(build):
    """A job of one pair of hands takes longer than there is time: no crowd shortens it."""
    lonely = replace(build, jobs=(JobInput("Box", 20, 30, 60, hands=1),), target=NOW + 24 * 3 + 10)
    takes = what_it_takes(lonely, chance=0.99, trials=TRIALS, seed=1)
    assert not takes.enough and takes.helpers < 8, words(takes.outcome)
    assert "hardly help" in words(takes.outcome) or "stays at" in words(takes.outcome)


def test_without_shifts_before_the_target_it_says_so(build):
    bare = replace(build, helpers=tuple(replace(one, shifts=()) for one in build.helpers), target=NOW + 24 * 9)
    takes = what_it_takes(bare, trials=50, seed=1)
    assert not takes.enough and "Nobody is down for any shift from now on: enter availability" in words(takes.outcome)
    later = replace(build, helpers=(helper("Una", shifts=shifts(5, first=12)),), stints=(), target=NOW + 24 * 9)
    assert "Nobody is down for a shift before Wed 10 June 2026" in words(
        what_it_takes(later, trials=50, seed=1).outcome
    )


def test_a_finished_build_takes_nothing_even_after_its_target(build):
    takes = what_it_takes(replace(finished(build), target=NOW - 24), trials=50, seed=1)
    assert words(takes.outcome) == "Everything is done: nothing more is needed."


def test_without_a_target_it_says_where_to_set_one(build):
    with pytest.raises(Refused, match="has no target"):
        what_it_takes(build, trials=50, seed=1)
