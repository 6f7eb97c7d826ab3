"""Questions are answered one at a time, beside the forecast they belong to, and not twice for nothing."""

from __future__ import annotations

from datetime import time, timedelta

import pytest

from buildlog import answering, forecasting
from buildlog.actions import forecasts, questions
from buildlog.answering import answer_next
from buildlog.core.errors import Refused
from buildlog.core.forecast.questions.request import MoreHands, WhatIfRequest
from buildlog.core.forecast.questions.times import Times
from buildlog.core.work.stages import Stage
from buildlog.models import Claim, Question
from buildlog.queries.questions import asked_of, day_plan_of
from buildlog.words import in_words
from tests.people import MONDAY, hours_after, work_through

WEEKEND = Times(time(10), time(17), weekdays=(5, 6))
TWO_MORE = WhatIfRequest("Two more", more=(MoreHands(2, WEEKEND),))


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    monkeypatch.setattr(forecasting, "TRIALS", 20)
    monkeypatch.setattr(answering, "TRIALS", 20)
    monkeypatch.setattr(answering, "TAKES_TRIALS", 20)


@pytest.fixture
def coming(shed, helper):
    """Marek comes every third day, an hour each."""
    for day in range(0, 40, 3):
        helper.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 1))
    return helper


@pytest.fixture
def known(shed, coming):
    forecasting.refresh(shed, MONDAY)
    return shed


def answer_all(build, now=MONDAY) -> list[str]:
    kinds = []
    while (answered := answer_next(build, now)) is not None:
        kinds.append(answered.kind)
    return kinds


def test_before_the_first_forecast_nothing_is_answered(shed, coming):
    assert answer_next(shed, MONDAY) is None


def test_the_day_plan_is_made_without_asking(known):
    assert answer_all(known) == ["day_plan"]
    question, plan = day_plan_of(known)
    assert plan.helpers == ("Marek",) and question.as_of == MONDAY


def test_each_question_is_answered_once(known):
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    questions.what_it_takes(build=known, percent=80, now=MONDAY)
    assert sorted(answer_all(known)) == ["day_plan", "takes", "what_if"]
    assert answer_all(known, hours_after(0.5)) == []


def test_an_answer_stands_beside_the_forecast_it_was_made_with(known):
    questions.what_if(build=known, request=WhatIfRequest("No failures", rework=False), now=MONDAY)
    answer_all(known)
    (one,) = asked_of(known).what_ifs
    assert one.answer.today.finish == asked_of(known).comparison.columns[0].figures.finish
    assert one.document.seed == known.forecasts.get().report["seed"]
    assert one.document.labour_hours_left["rework"].p90 == 0


def test_two_more_at_weekends_are_sooner(known):
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    answer_all(known)
    cells = dict(asked_of(known).comparison.dates[1].cells)
    assert cells["80 % sure"].change.endswith("sooner") and cells["80 % sure"].better


def test_when_something_changes_answers_are_made_again_but_not_at_once(known, helper):
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    answer_all(known)
    work_through(known.segments.current().first(), Stage.POPULATE, by=helper, at=hours_after(0.1))
    assert answer_all(known, hours_after(0.2)) == [], "a new forecast comes first"
    forecasting.refresh(known, hours_after(0.2))
    made = Question.objects.filter(kind="what_if").get().answered_at
    assert answer_all(known, made + timedelta(minutes=2)) == ["day_plan"]
    assert answer_all(known, made + timedelta(minutes=11)) == ["what_if"]


def test_while_a_forecast_is_made_no_question_is_answered(known):
    with forecasts.claimed(known, MONDAY):
        assert answer_next(known, MONDAY) is None
    assert answer_next(known, MONDAY) is not None


def test_without_a_target_the_question_is_refused_with_a_sentence(known):
    questions.what_it_takes(build=known, percent=80, now=MONDAY)
    answer_all(known)
    takes = asked_of(known).takes
    assert takes.answer is None and "has no target" in takes.refusal


def test_a_target_to_come_is_answered_with_hours(known):
    known.target_at = hours_after(24 * 4)
    known.save()
    forecasting.refresh(known, MONDAY)
    questions.what_it_takes(build=known, percent=80, now=MONDAY)
    answer_all(known)
    assert "person-hour" in in_words(asked_of(known).target.sentence)


def test_a_question_that_somebody_changed_meanwhile_keeps_no_old_answer(known):
    asked = questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    stale = Question.objects.get(pk=asked.pk)
    questions.what_if(build=known, request=WhatIfRequest("Two more", rework=False), now=hours_after(1), question=asked)
    assert not questions.save(question=stale, now=hours_after(1), answer={"old": True})
    assert Question.objects.get(pk=asked.pk).answer is None


def test_a_helper_who_is_not_there_any_more_is_named(known, helper):
    questions.what_if(build=known, request=WhatIfRequest("Odd", without=("Zoe",)), now=MONDAY)
    answer_all(known)
    assert "There is no helper Zoe" in Question.objects.get(name="Odd").refusal


def test_names_are_unique_and_there_are_not_too_many(known):
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    with pytest.raises(Refused, match="already"):
        questions.what_if(build=known, request=WhatIfRequest("two MORE", rework=False), now=MONDAY)
    for number in range(questions.MOST_WHAT_IFS - 1):
        questions.what_if(build=known, request=WhatIfRequest(f"{number}", rework=False), now=MONDAY)
    with pytest.raises(Refused, match="take one away"):
        questions.what_if(build=known, request=WhatIfRequest("One more", rework=False), now=MONDAY)


def test_what_was_asked_is_read_in_one_query(known, django_assert_num_queries):
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    answer_all(known)
    with django_assert_num_queries(1):
        assert asked_of(known).comparison is not None


def test_a_question_on_which_the_program_fails_is_answered_so_and_holds_up_no_other(known, monkeypatch):
    def fail(*_):
        raise ZeroDivisionError

    monkeypatch.setitem(answering.ANSWERS, Question.Kind.WHAT_IF, fail)
    questions.what_if(build=known, request=TWO_MORE, now=MONDAY)
    questions.what_it_takes(build=known, percent=80, now=MONDAY)
    assert sorted(answer_all(known)) == ["day_plan", "takes", "what_if"]
    assert "The program failed on this question" in Question.objects.get(kind="what_if").refusal
    assert answer_all(known, hours_after(0.5)) == [], "it would fail again"


def test_answers_given_by_a_clock_that_ran_ahead_are_made_again(known, helper):
    answer_all(known)
    Question.objects.update(answered_at=hours_after(24 * 900))
    work_through(known.segments.current().first(), Stage.POPULATE, by=helper, at=hours_after(0.1))
    forecasting.refresh(known, hours_after(0.2))
    assert answer_all(known, hours_after(0.2)) == ["day_plan"]


def test_whoever_took_too_long_does_not_give_back_what_another_holds_by_now(shed):
    late = MONDAY + forecasts.LONGEST * 2
    with forecasts.claimed(shed, MONDAY) as slow:
        held = forecasts.claimed(shed, late)
        assert slow and held.__enter__()
    with forecasts.claimed(shed, late) as third:
        assert not third, "the second one is still at work"
    held.__exit__(None, None, None)
    with forecasts.claimed(shed, late) as fourth:
        assert fourth


def test_a_claim_from_a_clock_that_ran_ahead_holds_nobody_up(shed):
    Claim.objects.create(build=shed, claimed_at=hours_after(24 * 900))
    with forecasts.claimed(shed, MONDAY) as mine:
        assert mine
