"""Questions put to the forecast are answered one at a time, beside the app and never while another forecast is made.

`tend` (started by `serve`) calls ``answer_next`` after each look at the forecast. Every answer belongs to one kept
forecast: the same world, the same trials, the same random numbers.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from buildlog.actions import forecasts, questions
from buildlog.core.errors import Refused
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.questions import handed, needed, roster
from buildlog.core.forecast.questions.request import Wish
from buildlog.forecasting import SEED, TRIALS, follows_from
from buildlog.models import Build, Question, SavedForecast
from buildlog.queries.forecast_input import input_of

TAKES_TRIALS = 500  # it plays many worlds: at 80 %, their error is 2 points
# How old an answer may get before it is made again because something has changed.
PATIENCE = {
    Question.Kind.DAY_PLAN: timedelta(minutes=1),
    Question.Kind.WHAT_IF: timedelta(minutes=10),
    Question.Kind.TAKES: timedelta(minutes=30),
}
FAILED = "The program failed on this question; the console of the server says where. Ask it in another way."
KEPT_OF_TODAY = ("as_of", "finish", "target", "labour_hours_left", "hours_logged")
log = logging.getLogger(__name__)


def answer_next(build: Build, now: datetime) -> Question | None:
    """Answer the question that waits longest; None when none does, or a new forecast has to come first."""
    newest = build.forecasts.newest_first().first()
    if newest is None:
        return None
    questions.day_plan(build=build, now=now)
    question = _longest_waiting(build, newest, now)
    if question is None:
        return None
    inputs = input_of(build, newest.as_of)
    if follows_from(inputs) != newest.follows_from:
        return None
    with forecasts.claimed(build, now) as mine:
        return _answer(question, inputs, newest) if mine else None


def _longest_waiting(build: Build, newest: SavedForecast, now: datetime) -> Question | None:
    """Those never answered first."""
    waiting = [one for one in build.questions.defer("answer") if _due(one, newest, now)]
    waiting.sort(key=lambda one: (one.answered_at is not None, one.answered_at or one.asked_at))
    return waiting[0] if waiting else None


def _due(question: Question, newest: SavedForecast, now: datetime) -> bool:
    if question.answered_at is None:
        return True
    young = timedelta(0) <= now - question.answered_at < PATIENCE[question.kind]  # a clock that ran ahead says nothing
    return question.follows_from != newest.follows_from and not young


def _answer(question: Question, inputs: ForecastInput, newest: SavedForecast) -> Question:
    begun = time.perf_counter()
    try:
        found: dict[str, Any] = {"answer": ANSWERS[question.kind](question.asks, inputs, newest.report)}
    except Refused as refused:
        found = {"refusal": " ".join(problem.what for problem in refused.problems)}
    except Exception:  # one question that trips the program must not hold up all others, again and again
        log.exception("%s could not be answered.", question)
        found = {"refusal": FAILED}
    took = time.perf_counter() - begun
    made = {"as_of": newest.as_of, "follows_from": newest.follows_from, "took_s": took}
    questions.keep(question=question, now=timezone.now(), **made, **found)
    return question


# ---- one function a kind; these bring numba, which every page would wait for at start ----------------------


def _what_if(asks: Mapping[str, Any], inputs: ForecastInput, today: Mapping[str, Any]) -> dict[str, Any]:
    from buildlog.core.forecast.questions.what_if import changed
    from buildlog.core.forecast.result.forecast import forecast

    wish = Wish.of_json(asks)
    seen = forecast(changed(inputs, wish.change(inputs)), trials=TRIALS, seed=SEED)
    return {"report": seen.as_json(), "today": {key: today[key] for key in KEPT_OF_TODAY}}


def _what_it_takes(asks: Mapping[str, Any], inputs: ForecastInput, today: Mapping[str, Any]) -> dict[str, Any]:
    from buildlog.core.forecast.questions.reach_target import what_it_takes

    return needed.kept(what_it_takes(inputs, chance=asks["percent"] / 100, trials=TAKES_TRIALS, seed=SEED))


def _day_plan(asks: Mapping[str, Any], inputs: ForecastInput, today: Mapping[str, Any]) -> dict[str, Any]:
    from buildlog.core.forecast.questions.assignments import hand_out
    from buildlog.core.forecast.questions.day_plan import day_plan
    from buildlog.core.forecast.simulate.arrays import Learned

    learned = Learned(inputs)
    plan = day_plan(inputs, learned)
    return roster.kept(plan) | {"handout": handed.kept(hand_out(inputs, seed=SEED, before=plan, learned=learned))}


ANSWERS = {
    Question.Kind.WHAT_IF: _what_if,
    Question.Kind.TAKES: _what_it_takes,
    Question.Kind.DAY_PLAN: _day_plan,
}
