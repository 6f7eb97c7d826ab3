"""The Forecast screen shows what is kept, at once, and replaces it when there is a newer one."""

from __future__ import annotations

import pytest
from django.urls import reverse

from buildlog import forecasting
from buildlog.actions import forecasts
from buildlog.core.forecast.result.document.coding import encode, printed
from buildlog.core.forecast.result.forecast import forecast
from buildlog.core.work.stages import Stage
from buildlog.queries.forecast_input import input_of
from buildlog.queries.progress import ticks_by_day
from buildlog.templatetags.figures import glued
from buildlog.words import in_words
from tests.pages import text
from tests.people import MONDAY, hours_after, join_crew, work_through

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
    sentence = glued(in_words(kept.document.sentence))
    assert sentence in page and page.index(sentence) < page.index("Labour hours")
    assert "% sure" in page and "person-hours" in page


def test_how_sure_the_target_is_stands_right_under_the_sentence_and_the_lead_is_shown_what_to_do(
    shed, lead, helper, with_hours, sign_in, few_trials
):
    url = reverse(URL[0], args=URL[1])
    forecasting.refresh(shed, MONDAY)
    assert "By when has it to be ready?" in sign_in(lead).get(url).content.decode()
    shed.target_at = hours_after(1.5)
    shed.save()
    forecasting.refresh(shed, hours_after(1))
    page = text(sign_in(lead).get(url))
    assert page.index("Target Mon 2 March 2026, 11:30: <strong>0&nbsp;% sure") < page.index("trials, each of them")
    assert "What would it take?" in page and "What would it take?" not in sign_in(helper).get(url).content.decode()


def test_the_rates_of_a_large_crew_wait_in_a_fold(shed, lead, with_hours, sign_in, few_trials):
    fold, url = "By helper (", reverse(URL[0], args=URL[1])
    forecasting.refresh(shed, MONDAY)
    assert fold not in sign_in(lead).get(url).content.decode()
    for number in range(14):
        join_crew(shed, f"Helper {number}")
    forecasting.refresh(shed, hours_after(1))
    page = sign_in(lead).get(url).content.decode()
    assert f"{fold}15)" in page and page.index("The crew") < page.index(fold) < page.index("Helper 3")


def test_a_fresh_forecast_is_not_made_again_and_a_tick_makes_it_stale(shed, helper, with_hours, few_trials):
    assert forecasting.refresh(shed, MONDAY) is not None
    assert forecasting.refresh(shed, MONDAY) is None
    work_through(shed.segments.current().first(), Stage.POPULATE, by=helper)
    assert forecasting.stale(shed, MONDAY)
    assert forecasting.refresh(shed, MONDAY) is not None
    assert shed.forecasts.count() == 1, "the last one of a day is kept"
    forecasting.refresh(shed, hours_after(24))
    assert shed.forecasts.count() == 2


def test_one_forecast_of_a_build_is_made_at_a_time(shed, with_hours, few_trials):
    with forecasts.claimed(shed, MONDAY) as mine:
        assert mine
        assert forecasting.refresh(shed, MONDAY) is None
        with forecasts.claimed(shed, hours_after(1)) as after_a_crash:
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
    inputs = input_of(shed, MONDAY)
    assert encode(forecast(inputs, trials=20, seed=3).document()) == encode(
        forecast(inputs, trials=20, seed=3).document()
    )


def test_the_world_is_read_in_a_fixed_number_of_queries(shed, helper, with_hours, django_assert_num_queries):
    work_through(shed.segments.current().first(), Stage.MOUNT, by=helper)
    with django_assert_num_queries(15):
        # plan, jobs; at work, coming by shift, by pattern, people; ticks, runs, segments;
        # shifts, patterns; members, marks, stints; number of entries
        input_of(shed, hours_after(1))


def test_the_fan_comes_right_after_the_sentence(shed, lead, with_hours, sign_in, few_trials):
    forecasting.refresh(shed, MONDAY)
    page = sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()
    assert page.index('class="sentence"') < page.index('id="fan-wide-title"') < page.index('id="finish"')
    assert page.count('id="fan-narrow-title"') == 1, "each drawing is there once for a phone, once for more"


def test_the_screen_offers_earned_value_and_past_forecasts_in_folds(shed, lead, with_hours, sign_in, few_trials):
    forecasting.refresh(shed, MONDAY)
    page = sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()
    assert "PV, EV, AC, CPI, SPI, EAC" in page and "How past forecasts did" in page
    assert "Nothing to compare yet" in page


def test_a_forecast_kept_by_an_earlier_release_is_shown_without_drawings(shed, lead, with_hours, sign_in, few_trials):
    kept = forecasting.refresh(shed, MONDAY)
    kept.report = printed(forecast(input_of(shed, MONDAY), trials=5, seed=1).document(), in_words)
    kept.save()
    page = sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()
    assert glued(kept.report["sentence"]) in page and "fan-wide" not in page and "CPI" not in page


def test_everybody_of_the_build_sees_the_forecast_and_only_the_lead_may_ask_for_one(
    shed, viewer, with_hours, sign_in, few_trials
):
    forecasting.refresh(shed, MONDAY)
    page = sign_in(viewer).get(reverse(URL[0], args=URL[1])).content.decode()
    assert "Labour hours" in page and "Forecast again now" not in page


def test_the_document_of_the_command_stays_as_agreed(shed, with_hours, few_trials):
    kept = forecasting.refresh(shed, MONDAY)
    keys = set(printed(forecast(input_of(shed, MONDAY), trials=5, seed=1).document(), in_words))
    assert set(kept.report) - keys == {"done", "fan", "odds", "plain", "waits", "earned"}


def test_working_days_without_a_forecast_get_one_afterwards_the_latest_first(shed, helper, with_hours, few_trials):
    segments = list(shed.segments.current()[:2])
    for segment, day in zip(segments, (1, 3), strict=True):
        work_through(segment, Stage.POPULATE, by=helper, at=hours_after(24 * day))
    now = hours_after(24 * 5)
    forecasting.refresh(shed, now)
    latest, earlier = forecasting.look_back(shed, now), forecasting.look_back(shed, now)
    assert [str(latest.day), str(earlier.day)] == ["2026-03-05", "2026-03-03"]
    assert earlier.report["pixels"]["populate"] == segments[0].pixels, "only what was on file that evening"
    assert forecasting.look_back(shed, now) is None
    assert forecasting.shown(shed).newest.day.isoformat() == "2026-03-07", "what was made afterwards is not the newest"


def test_forecasts_of_a_clock_that_ran_ahead_give_way_to_those_of_the_right_one(shed, with_hours, few_trials):
    ahead = forecasting.refresh(shed, hours_after(24 * 900))
    right = forecasting.refresh(shed, hours_after(1))
    assert right.as_of < ahead.as_of and forecasting.shown(shed).newest == right
    assert forecasting.refresh(shed, hours_after(1.1)) is None, "it is fresh"
    assert [one.pk for one in shed.forecasts.all()] == [right.pk]


def test_past_forecasts_are_held_against_what_happened(shed, lead, helper, with_hours, sign_in, few_trials):
    for day in (0, 1, 5):
        segment = shed.segments.current()[day]
        work_through(segment, Stage.POPULATE, by=helper, at=hours_after(24 * day))
        forecasting.refresh(shed, hours_after(24 * day + 1))
    scores = forecasting.shown(shed).scores
    assert [score.what for score in scores] == ["work done 3 days later"] and scores[0].count == 2
    page = sign_in(lead).get(reverse(URL[0], args=URL[1])).content.decode()
    assert "Inside 10–90 %" in page and "past-wide-title" in page


def test_ticks_by_day_take_one_query_and_add_up_to_what_is_shown(shed, helper, django_assert_num_queries):
    segment = shed.segments.current().first()
    work_through(segment, Stage.MOUNT, by=helper)
    with django_assert_num_queries(1):
        rows = ticks_by_day(shed, hours_after(1))
    assert {(row.segment, row.stage, row.pixels) for row in rows} == {
        (segment.code, stage, segment.pixels) for stage in ("populate", "mount")
    }
    assert ticks_by_day(shed, hours_after(-1)) == ()


def test_what_the_screen_shows_is_read_in_one_query(shed, with_hours, few_trials, django_assert_num_queries):
    for day in range(3):
        forecasting.refresh(shed, hours_after(24 * day))
    with django_assert_num_queries(1):
        seen = forecasting.shown(shed)
        assert len(seen.days) == 3 and seen.scores is not None


def test_the_panel_is_drawn_again_without_reading_the_world(
    shed, lead, with_hours, sign_in, few_trials, django_assert_num_queries
):
    forecasting.refresh(shed, MONDAY)
    client = sign_in(lead)
    with django_assert_num_queries(8):
        # session, account, build, person; newest, kept forecasts; the plan, is it frozen; what was asked
        client.get(reverse(URL[0], args=URL[1]), {"shown": "before"}, HTTP_HX_REQUEST="true")
