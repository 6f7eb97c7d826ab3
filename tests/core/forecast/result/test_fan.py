"""The fan of what is to come, and what is kept of a forecast: read back it says the same."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest

from buildlog.core.forecast.input import JobInput
from buildlog.core.forecast.result.document.coding import decode, encode
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.fan import CUTS, fan_of
from buildlog.core.forecast.result.forecast import Forecast, forecast
from buildlog.core.forecast.result.saved import document_to_save
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
