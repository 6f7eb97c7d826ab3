"""Time in which nobody works though there is work moves the finish, not the person-hours."""

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, StintInput, hours_of
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


def test_an_impossible_pause_never_outlasts_the_shift():
    """Stints of a minute an hour apart: the trials still end or say never, and no hours are made up."""
    seen = forecast(logged(gap_min=85, count=5, left=20), trials=50, seed=1)
    assert np.isfinite(seen.hours).all() and (seen.hours >= 0).all()
