"""The fan of what is to come, and what is kept of a forecast: read back it says the same."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import cache

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, JobInput, moment_of
from buildlog.core.forecast.result.document.coding import decode, encode, printed
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.fan import CUTS, fan_of
from buildlog.core.forecast.result.forecast import Forecast, forecast
from buildlog.core.forecast.result.saved import document_to_save
from buildlog.core.forecast.result.sentences import words
from buildlog.core.forecast.result.standard_hours import Budget
from tests.core.forecast.result.test_standard_hours import DAY_1, MARCH_2, RATES, inputs, tick

TICKS = [tick(100), tick(50, day=1, stage="mount")]


@cache
def seen(**what) -> Forecast:
    return forecast(inputs(jobs=(JobInput("box", 1, 2, 3),), **what), trials=100, seed=5)


@cache
def saved(**what) -> ForecastDocument:
    stored = encode(document_to_save(seen(**what), TICKS, []))
    return decode(ForecastDocument, json.loads(json.dumps(stored, allow_nan=False)))


def test_the_fan_begins_at_what_is_done_and_rises_to_all():
    budget = Budget(seen().inputs)
    fan = fan_of(seen(), budget)
    assert fan.shares[:, 0].tolist() == pytest.approx([budget.done / budget.total] * len(CUTS))
    assert fan.shares[:, -1] == pytest.approx(np.ones(len(CUTS)), abs=1e-9)
    assert (np.diff(fan.shares, axis=0) >= -1e-12).all() and (np.diff(fan.shares, axis=1) >= -1e-12).all()
    assert (np.diff(fan.at) > 0).all()


def test_the_fan_reaches_all_when_the_trials_say_that_it_is_ready():
    fan, finish = fan_of(seen(), Budget(seen().inputs)), seen().finish_at(50)
    before, after = fan.at < finish - 24, fan.at > finish + 24
    middle = fan.shares[CUTS.index(50)]
    assert (middle[before] < 1).all() and middle[after] == pytest.approx(1)


def test_where_the_shifts_do_not_suffice_the_fan_ends_below_all():
    short = inputs().helpers[0]
    short = type(short)(short.name, shifts=short.shifts[:3])
    part = forecast(
        inputs(helpers=(short,), standard=type(RATES)(populate=10, mount=5, wire=0.2, test=0.4)), trials=70, seed=1
    )
    fan = fan_of(part, Budget(part.inputs))
    assert part.never == 1 and (fan.shares[:, -1] < 1).all()
    assert fan.at[-1] == pytest.approx(MARCH_2 + 48 + 13, abs=1e-3), "the end of the last shift"


def test_there_is_no_fan_without_work_or_without_anybody_to_come():
    done = tuple(type(segment)(segment.code, segment.pixels, (segment.pixels,) * 4) for segment in inputs().segments)
    ended = forecast(inputs(segments=done), trials=5, seed=1)
    assert fan_of(ended, Budget(ended.inputs)) is None
    alone = forecast(inputs(helpers=(type(inputs().helpers[0])("Marek"),)), trials=5, seed=1)
    assert fan_of(alone, Budget(alone.inputs)) is None


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


def test_between_two_points_the_fan_is_read_in_proportion():
    fan = saved().fan
    first, second = fan.at[0], fan.at[1]
    half = first + (second - first) / 2
    assert fan.by(half)[50] == pytest.approx((fan.shares[50][0] + fan.shares[50][1]) / 2)
    assert fan.by(first)[10] == fan.shares[10][0] and fan.by(fan.at[-1])[90] == fan.shares[90][-1]
    assert fan.promised_by(fan.at[-1]) >= fan.promised_by(half) >= 0


def test_promised_hours_count_from_now():
    fan = saved().fan
    tomorrow = next(number for number, at in enumerate(fan.at) if at.toordinal() > DAY_1 + 1)
    assert fan.promised[0] == 0 and fan.promised[tomorrow] == pytest.approx(1), "one hour of today's shift is left"


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
