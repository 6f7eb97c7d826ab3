"""What was asked of the forecast of a build, with the answers: one query."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from buildlog.core.forecast.questions.compare import Column, Comparison
from buildlog.core.forecast.questions.needed import Needed
from buildlog.core.forecast.questions.request import Wish
from buildlog.core.forecast.questions.roster import Roster
from buildlog.core.forecast.result.report import Report
from buildlog.models import Build, Question


@dataclass(frozen=True)
class WhatIf:
    """One what-if; ``report`` is None until it is answered."""

    question: Question

    @cached_property
    def wish(self) -> Wish:
        return Wish.of_json(self.question.asks)

    @property
    def report(self) -> Report | None:
        return Report(self.question.answer["report"]) if self.question.answer else None

    @property
    def today(self) -> Report | None:
        return Report(self.question.answer["today"]) if self.question.answer else None


@dataclass(frozen=True)
class Questions:
    """All what-ifs, oldest first, and what it would take."""

    what_ifs: tuple[WhatIf, ...]
    takes: Question | None

    @cached_property
    def answered(self) -> tuple[WhatIf, ...]:
        return tuple(one for one in self.what_ifs if one.report)

    @property
    def comparison(self) -> Comparison | None:
        """Today, as it was when the last of them was answered, and all that are answered."""
        if not self.answered:
            return None
        newest = max(self.answered, key=lambda one: one.question.as_of)
        columns = [Column(one.wish.name, one.report, one.today) for one in self.answered]
        return Comparison((Column("Today", newest.today), *columns))

    @property
    def as_of(self) -> datetime | None:
        return max((one.question.as_of for one in self.answered), default=None)

    @property
    def needed(self) -> Needed | None:
        return Needed(self.takes.answer) if self.takes and self.takes.answer else None

    @property
    def waiting(self) -> bool:
        """Does somebody wait for an answer?"""
        return any(one.answered_at is None for one in self._all)

    @property
    def version(self) -> str:
        """Another one when an answer has come, or something else was asked."""
        return "-".join(
            f"{one.pk}{'a' if one.answered_at else 'q'}{(one.answered_at or one.asked_at).timestamp():.3f}"
            for one in self._all
        )

    @property
    def _all(self) -> list[Question]:
        return [*(one.question for one in self.what_ifs), *([self.takes] if self.takes else [])]


def asked_of(build: Build) -> Questions:
    found = list(build.questions.exclude(kind=Question.Kind.DAY_PLAN))
    takes = [one for one in found if one.kind == Question.Kind.TAKES]
    what_ifs = tuple(WhatIf(one) for one in found if one.kind == Question.Kind.WHAT_IF)
    return Questions(what_ifs, takes[0] if takes else None)


def day_plan_of(build: Build) -> tuple[Question, Roster] | None:
    """The kept day plan; None before the first."""
    question = build.questions.of_kind(Question.Kind.DAY_PLAN)
    return (question, Roster(question.answer)) if question and question.answer else None
