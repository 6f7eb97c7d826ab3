"""How past forecasts are held against what happened, on reports made by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from msgspec import structs

from buildlog.core.forecast.result.document.coding import decode
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.track_record import (
    all_hours,
    finishes,
    record_of,
    stage_hours,
    target_score,
    works,
)

STAGES = ("populate", "mount", "wire", "test")
RATE = {"p10": 1.0, "p50": 2.0, "p90": 3.0}
MONDAY = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def after(days: float) -> datetime:
    return MONDAY + timedelta(days=days)


def report(day: int, share: float, *, target: float | None = None, chance: float = 0.5, **more) -> ForecastDocument:
    """Made on Monday plus so many days, with a tenth of the work done a day; said to go on like this."""
    at = [after(day) + timedelta(days=step) for step in range(0, 11)]
    shares = {
        str(percent): [min(1.0, share + step * pace) for step in range(0, 11)]
        for percent, pace in ((10, 0.05), (25, 0.08), (50, 0.10), (75, 0.12), (90, 0.15))
    }
    stored = {
        "build": "SHED", "trials": 20, "seed": 1, "plan_revision": 1, "ledger_entries": 0, "missing_hours": 0.0,
        "limits": [], "sentence": {"code": "all_done"}, "warnings": [],
        "finish": {"p10": None, "p50": None, "p80": None, "p90": None, "p95": None, "never": 0.0},
        "rates": {stage: {"per": "pixel", "crew": RATE, "helpers": {}} for stage in STAGES},
        "as_of": after(day).isoformat(),
        "target": {"date": after(target).isoformat(), "probability": chance} if target is not None else None,
        "done": [[after(step).isoformat(), min(1.0, step / 10)] for step in range(0, day + 1)],
        "fan": {
            "at": [moment.isoformat() for moment in at],
            "shares": shares,
            "promised": [4.0 * s for s in range(11)],
        },
        "odds": {str(percent): after(8 + percent / 25).isoformat() for percent in range(5, 100, 5)},
        "plain": {"by_stage": 40.0, "overall": 20.0},
        "pixels": {"total": 100, "populate": 100 if share >= 0.5 else 60, "mount": 50, "wire": 0, "test": 0},
        "hours_logged": {"total": 10.0 * day, "populate": 4.0 * min(day, 5), "mount": 0.0},
        "labour_hours_left": {
            work: {"mean": 12.0, "p10": 8.0, "p50": 12.0, "p80": 14.0, "p90": 20.0}
            for work in ("total", *STAGES, "jobs", "rework")
        },
    }  # fmt: skip
    return decode(ForecastDocument, stored | more)


def story(upto: int, **more) -> list[ForecastDocument]:
    return [report(day, day / 10, **more) for day in range(upto + 1)]


def test_work_done_is_compared_at_the_end_of_the_day_some_days_later():
    told = story(5)
    found = list(works(told[:-1], told[-1], 3))
    assert [outcome.said_at for outcome in found] == [after(0), after(1)], "later ones are not known yet"
    assert found[0].came == pytest.approx(30)
    assert found[0].quantiles[0.5] == pytest.approx(32.5), "a quarter of a day after the point at 18:00"
    assert found[0].inside


def test_plain_estimates_spend_the_promised_hours_one_by_one():
    outcome = next(works(story(5)[:1], story(5)[-1], 3))
    promised = 4 * 3.25
    assert outcome.by_stage == pytest.approx(100 * promised / 40)
    assert outcome.overall == pytest.approx(100 * promised / 20)
    assert outcome.plain_loss(outcome.overall) > outcome.loss > 0
    assert outcome.plain_loss(None) is None


def test_where_nobody_was_to_come_nothing_was_said():
    first = report(0, 0.0)
    quiet = structs.replace(first, fan=structs.replace(first.fan, promised=(0.0,) * 11))
    assert list(works([quiet], story(5)[-1], 3)) == []
    assert list(works([structs.replace(first, fan=None)], story(5)[-1], 3)) == []


def test_without_an_overall_estimate_the_standard_rates_stand_in():
    first = report(0, 0.0, plain={"by_stage": 40.0, "overall": None})
    outcome = next(works([first], story(5)[-1], 3))
    assert outcome.overall == outcome.by_stage


def test_hours_of_a_stage_are_known_when_it_is_done():
    told = story(6)
    found = list(stage_hours(told[:-1], told[-1]))
    assert len(found) == 5, "days 0 to 4: on day 5 populating was done"
    assert [outcome.came for outcome in found] == pytest.approx([20, 16, 12, 8, 4])
    assert [outcome.inside for outcome in found] == [True, True, True, True, False]


def test_the_whole_and_the_finish_are_known_at_the_end():
    told = story(10)
    assert told[-1].ready_at == after(10)
    hours = list(all_hours(told[:-1], told[-1]))
    assert hours[0].came == 100 and hours[0].by_stage == 40.0
    ends = list(finishes(told[:-1], told[-1]))
    assert [outcome.came for outcome in ends][:3] == pytest.approx([10, 9, 8])
    assert all(outcome.inside for outcome in ends), "between days 8.4 and 11.6"
    assert not list(finishes(story(5)[:-1], story(5)[-1])) and not list(all_hours(story(5)[:-1], story(5)[-1]))


def test_a_forecast_with_no_end_in_sight_is_not_held_against_the_finish():
    blind = report(2, 0.2, odds={"5": after(12).isoformat(), "10": None, "90": None})
    assert not list(finishes([blind], story(10)[-1]))


def test_scores_count_what_came_inside():
    scores = {score.what: score for score in record_of(story(10))}
    work = scores["work done 3 days later"]
    assert (work.count, work.inside, work.percent_inside) == (7, 7, 100)
    assert work.loss < work.by_stage and work.loss < work.overall
    assert scores["finish"].by_stage is None and scores["finish"].unit == "days"
    assert scores["person-hours left of a stage now done"].count == 5


def test_one_forecast_alone_has_no_record():
    assert record_of(()) == () and record_of(story(0)) == () and target_score(()) is None


@pytest.mark.parametrize(("target", "loss"), [(11, (1 - 0.8) ** 2), (9.5, 0.8**2)])
def test_the_chance_to_meet_the_target_is_scored_once_it_is_known(target, loss):
    count, mean = target_score(story(10, target=target, chance=0.8))
    assert mean == pytest.approx(loss) and count == 10


def test_a_target_that_lies_ahead_is_not_scored():
    assert target_score(story(5, target=9, chance=0.8)) is None


def test_a_target_that_has_passed_was_missed():
    count, mean = target_score(story(5, target=3.5, chance=0.25))
    assert (count, mean) == (4, pytest.approx(0.25**2)), "days 0 to 3"


def test_what_was_said_when_all_seemed_done_is_not_held_against_the_hours():
    """Reopened later: the forecast of that day had nothing to say of hours."""
    told = story(10)
    seemed_done = structs.replace(told[4], done=((told[4].as_of, 1.0),))
    assert seemed_done.share_done == 1.0
    hours = list(all_hours([told[3], seemed_done, told[5]], told[-1]))
    assert [outcome.said_at for outcome in hours] == [told[3].as_of, told[5].as_of]
