"""The Forecast screen shows what is kept, at once, and replaces it when there is a newer one."""

from __future__ import annotations

import pytest
from django.urls import reverse

from buildlog import forecasting
from buildlog.actions import outlooks
from buildlog.core.forecast.outlook import outlook
from buildlog.core.work.stages import Stage
from buildlog.queries.world import world_of
from tests.people import MONDAY, hours_after, work_through

URL = ("forecast", ["SHED"])


@pytest.fixture
def few_trials(monkeypatch):
    monkeypatch.setattr(forecasting, "TRIALS", 20)


@pytest.fixture
def with_hours(helper):
    for day in range(40):
        helper.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 6))
    return helper


def test_without_a_forecast_the_screen_says_how_one_comes(shed, lead, sign_in):
    assert "No forecast yet" in sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()


def test_the_sentence_comes_first_and_the_hours_by_stage_follow(shed, lead, with_hours, sign_in, few_trials):
    kept = forecasting.refresh(shed, MONDAY)
    page = sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()
    assert kept.report["sentence"] in page and page.index(kept.report["sentence"]) < page.index("Labour hours")
    assert "% sure" in page and "person-hours" in page


def test_a_fresh_forecast_is_not_made_again_and_a_tick_makes_it_stale(shed, helper, with_hours, few_trials):
    assert forecasting.refresh(shed, MONDAY) is not None
    assert forecasting.refresh(shed, MONDAY) is None
    work_through(shed.segments.current().first(), Stage.POPULATE, by=helper)
    assert forecasting.stale(shed, MONDAY)
    assert forecasting.refresh(shed, MONDAY) is not None
    assert shed.outlooks.count() == 1, "the last one of a day is kept"
    forecasting.refresh(shed, hours_after(24))
    assert shed.outlooks.count() == 2


def test_one_forecast_of_a_build_is_made_at_a_time(shed, with_hours, few_trials):
    with outlooks.claimed(shed, MONDAY) as mine:
        assert mine
        assert forecasting.refresh(shed, MONDAY) is None
        with outlooks.claimed(shed, hours_after(1)) as after_a_crash:
            assert after_a_crash
    assert forecasting.refresh(shed, MONDAY) is not None


def test_a_poll_is_answered_only_when_there_is_a_newer_one(shed, lead, with_hours, sign_in, few_trials):
    client, kept = sign_in(lead), forecasting.refresh(shed, MONDAY)
    htmx = {"HTTP_HX_REQUEST": "true"}
    same = client.get(reverse(URL[0], args=URL[1]), {"shown": kept.made_at.isoformat()}, **htmx)
    assert same.status_code == 204
    newer = client.get(reverse(URL[0], args=URL[1]), {"shown": "before"}, **htmx)
    assert newer.status_code == 200 and "<html" not in newer.content.decode()


def test_the_same_database_and_seed_give_the_same_bytes(shed, with_hours):
    world = world_of(shed, MONDAY)
    assert outlook(world, trials=20, seed=3).as_json() == outlook(world, trials=20, seed=3).as_json()


def test_the_world_is_read_in_a_fixed_number_of_queries(shed, helper, with_hours, django_assert_num_queries):
    work_through(shed.segments.current().first(), Stage.MOUNT, by=helper)
    with django_assert_num_queries(15):
        # plan, jobs; at work, coming by shift, by pattern, people; ticks, runs, segments;
        # shifts, patterns; members, marks, stints; number of entries
        world_of(shed, hours_after(1))
