"""Time in which nobody works though there is work moves the finish, not the person-hours."""

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, RunInput, SegmentInput, StintInput, hours_of
from buildlog.core.forecast.learn.attendance import attendance, promised_days, together_of
from buildlog.core.forecast.learn.open_work import OpenWork
from buildlog.core.forecast.learn.pauses import NONE_LATE, NONE_SEEN, Pauses, pauses_of
from buildlog.core.forecast.result.forecast import forecast
from tests.core.forecast.small import MONDAY, helper, inputs, segments, shifts

DAY = hours_of(MONDAY)  # midnight before that Monday


def populated(number: int, begin: float, minutes: float, who: int = 0) -> StintInput:
    return StintInput("populate", (who,), begin, begin + minutes / 60, 100, f"R{number}-1")


def logged(gap_min: float, late_min: float = 0.0, count: int = 12, left: int = 60) -> ForecastInput:
    """One helper has populated some segments, half an hour each, with a pause after each; the rest is to do."""
    ada = helper("Ada", shifts=shifts(60))
    stints, at = [], DAY + 9 + late_min / 60
    for number in range(1, count + 1):
        stints.append(populated(number, at, 30))
        at += (30 + gap_min) / 60
    done = tuple(replace(segment, done=(100, 0, 0, 0)) for segment in segments(count))
    return inputs(crew=(ada,), segments=done + segments(count + left)[count:], stints=tuple(stints), as_of=DAY + 18)


def test_nothing_logged_means_no_pauses():
    assert pauses_of(inputs()) == Pauses()


def test_pauses_between_stints_are_learned_and_drawn_towards_none():
    seen = pauses_of(logged(gap_min=6, late_min=12))
    assert seen.between == pytest.approx(0.1 * 11 / (11 + NONE_SEEN))
    assert seen.late == pytest.approx(0.2 / (1 + NONE_LATE))


def test_pauses_move_the_finish_but_not_the_hours():
    brisk, slow = (forecast(logged(gap), trials=200, seed=3) for gap in (0, 9))
    assert np.median(slow.hours.sum(axis=1)) == pytest.approx(np.median(brisk.hours.sum(axis=1)), rel=0.03)
    assert slow.finish_at(50) > brisk.finish_at(50) + 12


def test_who_waits_for_others_does_not_pause():
    """Ivo can only mount, and nothing is populated until noon."""
    una, ivo = helper("Una", skills=frozenset({"populate"})), helper("Ivo", skills=frozenset({"mount"}))
    stints = (
        StintInput("populate", (0,), DAY + 9, DAY + 10, 100, "R1-1"),
        StintInput("populate", (0,), DAY + 10, DAY + 13, 100, "R2-1"),
        StintInput("mount", (1,), DAY + 10, DAY + 11, 100, "R1-1"),
        StintInput("mount", (1,), DAY + 13, DAY + 14, 100, "R2-1"),
    )
    done = tuple(replace(segment, done=(100, 100, 0, 0)) for segment in segments(2))
    seen = pauses_of(inputs(crew=(una, ivo), segments=done, stints=stints, as_of=DAY + 16))
    assert seen == Pauses()


def test_open_work_knows_order_limits_and_the_way_of_the_data():
    chained = tuple(SegmentInput(f"R{n}-1", 50, done=(50, 50, 0, 0), runs=(RunInput(1, n, 50),)) for n in (1, 2, 3))
    wired = (
        StintInput("wire", (0,), DAY + 9, DAY + 10, 50, "R2-1"),
        StintInput("wire", (0,), DAY + 10, DAY + 12, 50, "R1-1"),
    )
    known = inputs(
        segments=tuple(replace(segment, done=(50, 50, 50 * (segment.code != "R3-1"), 0)) for segment in chained),
        stints=wired, people=(None, None, 1, None), as_of=DAY + 16,
    )  # fmt: skip
    tester, wirer = (helper(skills=frozenset({word})) for word in ("test", "wire"))
    is_open = OpenWork(known).to
    assert not is_open(tester, DAY + 11) and is_open(tester, DAY + 12)  # R2-1 is wired, but data waits for R1-1
    assert not is_open(wirer, DAY + 11) and is_open(wirer, DAY + 12.5)  # one fits at a time


def test_an_impossible_pause_never_outlasts_the_shift():
    """Stints of a minute an hour apart: the trials still end or say never, and no hours are made up."""
    seen = forecast(logged(gap_min=85, count=5, left=20), trials=50, seed=1)
    assert np.isfinite(seen.hours).all() and (seen.hours >= 0).all()


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
    parts = [together_of(promised_days(came_on(days, 4))) for days in (apart, at_once)]
    assert parts[0].parts @ parts[0].chance < parts[1].parts @ parts[1].chance


def test_a_crew_that_comes_is_believed_and_its_helpers_share_the_doubt():
    all_came = attendance(came_on(dict.fromkeys(range(10), (True,) * 3), 3))
    crew, own = all_came.draw(4000, np.random.default_rng(1))
    assert 0.85 < own.mean() < 0.99
    assert np.corrcoef(own[:, 0], own[:, 1])[0, 1] > 0.02
    assert crew.shape == (4000,) and own.shape == (4000, 3)
