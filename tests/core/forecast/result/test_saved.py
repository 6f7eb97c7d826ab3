"""What is kept of a forecast besides what is printed: read back it says the same."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from buildlog.core.forecast.input import ForecastInput, Helper, JobInput, ShiftInput, moment_of
from buildlog.core.forecast.result.document.coding import decode, encode, printed
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.forecast import forecast
from buildlog.core.forecast.result.saved import document_to_save
from buildlog.core.forecast.result.standard_hours import Budget
from tests.core.forecast.result.test_fan import TICKS, saved, seen
from tests.core.forecast.result.test_standard_hours import DAY_1, MARCH_2, inputs
from tests.core.forecast.small import words


def test_the_same_forecast_keeps_the_same_numbers():
    again = document_to_save(forecast(inputs(jobs=(JobInput("box", 1, 2, 3),)), trials=100, seed=5), TICKS, [])
    assert again == document_to_save(seen(), TICKS, [])


def test_what_is_kept_reads_back_in_the_zone_of_the_build():
    read = saved(time_zone="Europe/Oslo")
    assert read.as_of == moment_of(MARCH_2 + 36) and read.as_of.utcoffset().total_seconds() == 3600
    assert read.history[0][1] == 0 and read.share_done == pytest.approx(2 / 8.75, abs=1e-4)
    assert read.fan.at[0] == read.as_of
    assert list(read.odds) == list(range(5, 100, 5))
    assert read.ready_at is None and read.target is None


def test_earned_value_and_schedule_read_back():
    read = saved()
    assert read.earned.value.budget == pytest.approx(8.75) and read.earned.value.spent == pytest.approx(3)
    assert read.earned.schedule.start == datetime(2026, 3, 2, tzinfo=UTC)
    assert read.earned.days.plan[0] == (0, 0) and read.earned.days.duration == 3
    assert read.earned.planned_end == datetime(2026, 3, 5, tzinfo=UTC)
    assert read.earned.likely_end > read.earned.planned_end


def test_a_forecast_kept_by_an_earlier_release_has_no_drawing_to_offer():
    old = decode(ForecastDocument, printed(seen().document(), words))
    assert (old.fan, old.earned, old.plain, old.ready_at) == (None,) * 4
    assert old.history == () and old.odds == {} and old.share_done == 0
    assert words(old.sentence) == words(seen().headline), "a sentence that was stored in words stays as it was written"
    assert [words(warning) for warning in old.warnings] == [words(warning) for warning in seen().warnings]


def test_plain_estimates_count_the_jobs_that_are_left():
    plain = saved().plain
    assert plain.by_stage > 2 and plain.overall > 2
    assert isinstance(seen().inputs, ForecastInput) and Budget(seen().inputs).jobs_left == pytest.approx(2)


def test_figures_are_kept_to_four_digits():
    def figures(plain):
        for value in plain.values() if isinstance(plain, dict) else plain if isinstance(plain, list) else ():
            yield from figures(value)
        if isinstance(plain, float):
            yield plain

    thirds = tuple(ShiftInput(MARCH_2 + 24 * d + 9, MARCH_2 + 24 * d + 12 + 1 / 3, DAY_1 + d) for d in range(10))
    build = inputs(helpers=(Helper("Marek", shifts=thirds),))
    stored = encode(document_to_save(forecast(build, trials=30, seed=1), TICKS, []))
    for part in ("fan", "plain", "waits", "earned", "done"):
        for figure in figures(json.loads(json.dumps(stored[part]))):
            assert figure == round(figure, 4), part
