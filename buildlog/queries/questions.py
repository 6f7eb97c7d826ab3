"""What was asked of the forecast of a build, with the answers: one query."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from buildlog.core.forecast.questions.compare import Column, Comparison
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.forecast.result.document.coding import decode
from buildlog.core.forecast.result.document.day_plan import DayPlanAnswer
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import TargetDocument
from buildlog.core.forecast.result.document.what_if import WhatIfAnswer
from buildlog.models import Build, Question


@dataclass(frozen=True)
class WhatIf:
    """One what-if; ``answer`` is None until it is answered."""

    question: Question

    @cached_property
    def request(self) -> WhatIfRequest:
        return WhatIfRequest.of_json(self.question.asks)

    @cached_property
    def answer(self) -> WhatIfAnswer | None:
        return decode(WhatIfAnswer, self.question.answer) if self.question.answer else None

    @property
    def document(self) -> ForecastDocument | None:
        return self.answer.report if self.answer else None


@dataclass(frozen=True)
class Questions:
    """All what-ifs, oldest first, and what it would take."""

    what_ifs: tuple[WhatIf, ...]
    takes: Question | None

    @property
    def comparison(self) -> Comparison | None:
        """Today, as it was when the last of them was answered, and all that are answered."""
        answers = [(what_if.request.name, what_if.answer) for what_if in self.what_ifs if what_if.answer]
        if not answers:
            return None
        newest = max((answer.today for _, answer in answers), key=lambda figures: figures.as_of)
        columns = [Column(name, answer.report.key_figures, answer.today) for name, answer in answers]
        return Comparison((Column("Today", newest), *columns))

    @property
    def as_of(self) -> datetime | None:
        """The newest forecast that one of them was answered beside; None where none is answered."""
        answers = ((what_if.question, what_if.answer) for what_if in self.what_ifs if what_if.answer)
        return max((question.as_of or answer.today.as_of for question, answer in answers), default=None)

    @cached_property
    def target(self) -> TargetDocument | None:
        """What it would take."""
        return decode(TargetDocument, self.takes.answer) if self.takes and self.takes.answer else None

    @property
    def waiting(self) -> bool:
        """Does somebody wait for an answer?"""
        return any(question.answered_at is None for question in self._all)

    @property
    def version(self) -> str:
        """Another one when an answer has come, or something else was asked."""
        return "-".join(
            f"{question.pk}{'a' if question.answered_at else 'q'}"
            f"{(question.answered_at or question.asked_at).timestamp():.3f}"
            for question in self._all
        )

    @property
    def _all(self) -> list[Question]:
        return [*(what_if.question for what_if in self.what_ifs), *([self.takes] if self.takes else [])]


def asked_of(build: Build) -> Questions:
    questions = list(build.questions.exclude(kind=Question.Kind.DAY_PLAN))
    takes = [question for question in questions if question.kind == Question.Kind.TAKES]
    what_ifs = tuple(WhatIf(question) for question in questions if question.kind == Question.Kind.WHAT_IF)
    return Questions(what_ifs, takes[0] if takes else None)


def day_plan_of(build: Build) -> tuple[Question, DayPlanAnswer] | None:
    """The saved day plan; None before the first."""
    question = build.questions.of_kind(Question.Kind.DAY_PLAN)
    return (question, decode(DayPlanAnswer, question.answer)) if question and question.answer else None
