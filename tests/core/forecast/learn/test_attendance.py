"""Who comes, alone and together; which tests fail, and how long mending takes: counted and believed."""

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, hours_of
from buildlog.core.forecast.learn.attendance import (
    ATTENDANCE_PRIOR,
    DROPOUT,
    Rate,
    attendance,
    failed_tests,
    promised_days,
    rate_of,
    rework_hours,
    shared_attendance_of,
    worked_days,
)
from buildlog.core.forecast.learn.observations import observations_of
from tests.core.forecast.learn.test_pauses import populated
from tests.core.forecast.small import MONDAY, helper, inputs, segments

DAY = hours_of(MONDAY)  # midnight before that Monday


def came_on(days: dict[int, tuple[bool, ...]], crew: int) -> ForecastInput:
    """Who came on which day, with work for all."""
    helpers = tuple(helper(f"H{number}", days=40) for number in range(crew))
    stints, count = [], 0
    for day, came in days.items():
        for who, there in enumerate(came):
            if there:
                count += 1
                stints.append(populated(count, DAY + 24 * day + 9, 20, who))
    done = tuple(replace(segment, done=(100, 0, 0, 0)) for segment in segments(count))
    as_of = DAY + 24 * (max(days) + 1) - 1
    return inputs(crew=helpers, segments=done + segments(count + 50)[count:], stints=tuple(stints), as_of=as_of)


def test_staying_away_together_shows():
    apart = {day: tuple(who != day % 4 for who in range(4)) for day in range(12)}
    at_once = {day: (day == 0 or day % 4 != 0,) * 4 for day in range(12)}
    parts = [shared_attendance_of(promised_days(came_on(days, 4))) for days in (apart, at_once)]
    assert parts[0].parts @ parts[0].chance < parts[1].parts @ parts[1].chance


def test_a_crew_that_comes_is_believed_and_its_helpers_share_the_doubt():
    all_came = attendance(came_on(dict.fromkeys(range(10), (True,) * 3), 3))
    crew, own = all_came.draw(4000, np.random.default_rng(1))
    assert 0.85 < own.mean() < 0.99
    assert np.corrcoef(own[:, 0], own[:, 1])[0, 1] > 0.02
    assert crew.shape == (4000,) and own.shape == (4000, 3)


def test_a_rate_is_counted_into_what_was_believed():
    """Beta-Binomial: a + hits, b + misses; mean a/(a + b)."""
    assert rate_of((4.0, 1.0), 3, 2) == Rate(7.0, 3.0) and Rate(7.0, 3.0).mean == 0.7


def test_nobody_seen_is_what_was_believed():
    nothing = attendance(inputs(2))
    assert nothing.crew == Rate(*ATTENDANCE_PRIOR) and [own.gone for own in nothing.helpers] == [0, 0]


def test_days_without_work_or_before_the_first_stint_say_nothing():
    one_day = came_on({1: (True, False)}, 2)
    assert promised_days(one_day) == ({MONDAY.toordinal() + 1: True}, {MONDAY.toordinal() + 1: False})
    assert worked_days(one_day) == (frozenset({MONDAY.toordinal() + 1}), frozenset())
    mounts = replace(one_day, helpers=(one_day.helpers[0], helper("H1", days=40, skills=frozenset({"test"}))))
    assert promised_days(mounts)[1] == {}, "nothing could be tested, so staying away means nothing"


def test_today_counts_when_it_is_over():
    build = came_on({0: (True,), 1: (True,)}, 1)
    assert len(promised_days(build)[0]) == 2
    assert len(promised_days(replace(build, as_of=DAY + 24 + 16))[0]) == 1


def test_missed_days_in_a_row_are_chance_or_the_end():
    """Bayes by hand: two promised days missed after four kept; DROPOUT a day against the Beta-Binomial chance."""
    days = {day: (True, day < 4) for day in range(6)}
    seen = attendance(came_on(days, 2))
    usual = (ATTENDANCE_PRIOR[0] + 10) / (sum(ATTENDANCE_PRIOR) + 12)
    a, b = 5 * usual + 4, 5 * (1 - usual)
    by_chance = b / (a + b) * (b + 1) / (a + b + 1)
    left = 1 - (1 - DROPOUT) ** 2
    assert seen.helpers[1].gone == pytest.approx(left / (left + (1 - left) * by_chance))
    assert (seen.helpers[1].attended, seen.helpers[1].missed, seen.helpers[0].gone) == (4, 2, 0)
    weights = 1.2 / (1 + 6 / 5)
    assert seen.crew.a == pytest.approx(ATTENDANCE_PRIOR[0] + weights * 10)
    assert seen.crew.b == pytest.approx(ATTENDANCE_PRIOR[1] + weights * 2 * (1 - seen.helpers[1].gone))


def test_failed_tests_are_those_found_or_those_mended():
    build = inputs(segments=segments(10, done=(100,) * 4), faults_found=2)
    believed = failed_tests(build, observations_of(build))
    assert (believed.a, believed.b) == (pytest.approx(0.6 + 2), pytest.approx(19.4 + 8))
    assert failed_tests(replace(build, faults_found=99), observations_of(build)).b == pytest.approx(19.4)


def test_mending_takes_what_it_took_drawn_towards_what_was_believed():
    """Log-normal, 0.3 h with the weight of four; recomputed by hand."""
    nothing = observations_of(inputs(2))
    believed = rework_hours(nothing)
    assert (believed.centre, believed.centre_sd, believed.spread) == (pytest.approx(np.log(0.3)), 0.25, 0.5)
    seen = rework_hours(replace(nothing, rework=(0.6, 0.6, 0.0)))
    assert seen.centre == pytest.approx((4 * np.log(0.3) + 2 * np.log(0.6)) / 6)
    assert seen.spread == pytest.approx(np.sqrt(4 * 0.25 / 6)) and seen.centre_sd == pytest.approx(seen.spread / 6**0.5)
    odd = rework_hours(replace(nothing, rework=(0.6, 0.6, 600.0)))
    assert odd.spread == pytest.approx(np.sqrt((4 * 0.25 + 1.5) / 7)), "one that is far out counts no more than so much"
