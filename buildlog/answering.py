"""Questions put to the forecast are answered one at a time, beside the app and never while another forecast is made.

`tend` (started by `serve`) calls ``answer_next`` after each look at the forecast. Every answer belongs to one kept
forecast: the same world, the same trials, the same random numbers.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from msgspec import Struct, structs

from buildlog.actions import forecasts, questions
from buildlog.core.errors import Refused
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.forecast.result.document.coding import encode
from buildlog.core.forecast.result.document.day_plan import DayPlanAnswer
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import TargetDocument
from buildlog.core.forecast.result.document.what_if import WhatIfAnswer
from buildlog.forecasting import SEED, TRIALS, follows_from
from buildlog.models import Build, Question, SavedForecast
from buildlog.queries.forecast_input import input_of

TAKES_TRIALS = 500  # it plays many worlds: at 80 %, their error is 2 points
# How old an answer may get before it is made again because something has changed.
PATIENCE: dict[str, timedelta] = {
    Question.Kind.DAY_PLAN: timedelta(minutes=1),
    Question.Kind.WHAT_IF: timedelta(minutes=10),
    Question.Kind.TAKES: timedelta(minutes=30),
}
Answerer = Callable[[Mapping[str, Any], ForecastInput, ForecastDocument], Struct]
FAILED = "The program failed on this question; the console of the server says where. Ask it in another way."
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
    waiting = [question for question in build.questions.defer("answer") if _due(question, newest, now)]
    waiting.sort(key=lambda question: (question.answered_at is not None, question.answered_at or question.asked_at))
    return waiting[0] if waiting else None


def _due(question: Question, newest: SavedForecast, now: datetime) -> bool:
    if question.answered_at is None:
        return True
    young = timedelta(0) <= now - question.answered_at < PATIENCE[question.kind]  # a clock that ran ahead says nothing
    return question.follows_from != newest.follows_from and not young


def _answer(question: Question, inputs: ForecastInput, newest: SavedForecast) -> Question:
    answer, refusal, begun = None, "", time.perf_counter()
    try:
        answer = encode(ANSWERS[question.kind](question.asks, inputs, newest.document))
    except Refused as refused:
        refusal = " ".join(problem.what for problem in refused.problems)
    except Exception:  # one question that trips the program must not hold up all others, again and again
        log.exception("%s could not be answered.", question)
        refusal = FAILED
    questions.save(
        question=question, now=timezone.now(), answer=answer, refusal=refusal, as_of=newest.as_of,
        follows_from=newest.follows_from, took_s=time.perf_counter() - begun,
    )  # fmt: skip
    return question


# ---- one function a kind; these bring numba, which every page would wait for at start ----------------------


def _what_if(asks: Mapping[str, Any], inputs: ForecastInput, today: ForecastDocument) -> WhatIfAnswer:
    from buildlog.core.forecast.questions.scenario import changed
    from buildlog.core.forecast.result.forecast import forecast

    scenario = WhatIfRequest.of_json(asks).change(inputs)
    return WhatIfAnswer(forecast(changed(inputs, scenario), trials=TRIALS, seed=SEED).document(), today.key_figures)


def _what_it_takes(asks: Mapping[str, Any], inputs: ForecastInput, today: ForecastDocument) -> TargetDocument:
    from buildlog.core.forecast.questions.reach_target import what_it_takes

    return what_it_takes(inputs, chance=asks["percent"] / 100, trials=TAKES_TRIALS, seed=SEED).document()


def _day_plan(asks: Mapping[str, Any], inputs: ForecastInput, today: ForecastDocument) -> DayPlanAnswer:
    from buildlog.core.forecast.questions.assignments import assign
    from buildlog.core.forecast.questions.day_plan import day_plan
    from buildlog.core.forecast.simulate.arrays import Learned

    learned = Learned(inputs)
    plan = day_plan(inputs, learned)
    assignments = assign(inputs, seed=SEED, before=plan, learned=learned)
    return DayPlanAnswer(**structs.asdict(plan.document()), assignments=assignments.document())


ANSWERS: dict[str, Answerer] = {
    Question.Kind.WHAT_IF: _what_if,
    Question.Kind.TAKES: _what_it_takes,
    Question.Kind.DAY_PLAN: _day_plan,
}
