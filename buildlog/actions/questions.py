"""Putting questions to the forecast, and saving what it answers."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from buildlog.actions.ticks import lock
from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.wording import _
from buildlog.models import Build, Question

MOST_WHAT_IFS = 6  # more cannot be read beside each other
OPEN: dict[str, Any] = {
    "answer": None, "refusal": "", "answered_at": None, "as_of": None, "follows_from": "", "took_s": 0,
}  # fmt: skip


@transaction.atomic
def what_if(*, build: Build, request: WhatIfRequest, now: datetime, question: Question | None = None) -> Question:
    """Ask a what-if, or ask one (``question``) in another way; its answer comes by itself."""
    lock(build)
    refuse_taken(build=build, name=request.name, question=question)
    question = question or Question(build=build, kind=Question.Kind.WHAT_IF)
    return _ask(question, request.name, request.as_json(), now)


def refuse_taken(*, build: Build, name: str, question: Question | None = None) -> None:
    """Raise Refused for a what-if whose name another one has, and for one too many."""
    others = build.questions.what_ifs().exclude(pk=question.pk if question else 0)
    problems = []
    if any(other.name.lower() == name.lower() for other in others):
        problems.append(
            Problem(_("There is a what-if “{name}” already: choose another name, or change that."), "name", name=name)
        )
    if question is None and len(others) >= MOST_WHAT_IFS:
        problems.append(
            Problem(_("There are {number} what-ifs already: take one away, then ask another."), number=len(others))
        )
    if problems:
        raise Refused(problems)


@transaction.atomic
def what_it_takes(*, build: Build, percent: int, now: datetime) -> Question:
    """Ask what would bring the build's target to a chance; a build has one such question."""
    if not 1 <= percent <= 99:
        raise Refused(Problem(_("Found {percent} %: give 1 to 99, 80 is usual."), "percent", percent=percent))
    lock(build)  # two who ask at once: the later one counts
    kind = Question.Kind.TAKES
    question = build.questions.of_kind(kind) or Question(build=build, kind=kind)
    return _ask(question, "", {"percent": percent}, now)


def day_plan(*, build: Build, now: datetime) -> Question:
    """The day plan is wanted of every build; it is asked for once."""
    question, _ = Question.objects.get_or_create(
        build=build, kind=Question.Kind.DAY_PLAN, name="", defaults={"asked_at": now}
    )
    return question


def drop(*, question: Question) -> None:
    """Take a what-if away."""
    question.delete()


def _ask(question: Question, name: str, asks: dict[str, Any], now: datetime) -> Question:
    for field, value in (OPEN | {"name": name, "asks": asks, "asked_at": now}).items():
        setattr(question, field, value)
    question.save()
    return question


def save(*, question: Question, now: datetime, answer: Any = None, refusal: str = "", **made: Any) -> bool:
    """Save an answer, or why there is none; not when the question was asked otherwise meanwhile."""
    same = Question.objects.filter(pk=question.pk, asked_at=question.asked_at)
    return bool(same.update(answer=answer, refusal=refusal[:1000], answered_at=now, **made))
