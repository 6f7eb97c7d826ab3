"""Questions put to the forecast, and what it answered: what if, what would it take, who does what on which day."""

from __future__ import annotations

from typing import Any

from django.db import models

from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.models.build import Build
from buildlog.models.document import DocumentField


class QuestionQuerySet(models.QuerySet["Question"]):
    def what_ifs(self) -> QuestionQuerySet:
        return self.filter(kind=Question.Kind.WHAT_IF)

    def of_kind(self, kind: str) -> Question | None:
        """The one question of a kind of which a build has one."""
        return self.filter(kind=kind).first()


class Question(models.Model):
    """One question and its newest answer; ``asks`` says what was asked, as its kind keeps it."""

    class Kind(models.TextChoices):
        WHAT_IF = "what_if", "What if"
        TAKES = "takes", "What would it take"
        DAY_PLAN = "day_plan", "Day plan"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="questions")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(max_length=60, blank=True)
    asks: Any = DocumentField(holds=dict[str, Any], default=dict, blank=True)
    asked_at = models.DateTimeField()
    answer: Any = DocumentField(holds=dict[str, Any] | None, null=True, blank=True)
    refusal = models.CharField(max_length=1000, blank=True)  # why there is no answer
    answered_at = models.DateTimeField(null=True, blank=True)
    as_of = models.DateTimeField(null=True, blank=True)  # the forecast beside which it was answered
    follows_from = models.CharField(max_length=64, blank=True)  # and the digest of what that was made from
    took_s = models.FloatField(default=0)

    objects = QuestionQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [models.UniqueConstraint(fields=["build", "kind", "name"], name="one_question_a_name")]

    def __str__(self) -> str:
        return f"{self.build.code} {self.kind} {self.name}".strip()

    def read(self) -> WhatIfRequest | float | None:
        """What is asked: a what-if, a percentage, or nothing more. Raises Refused, LookupError, TypeError or ValueError
        for what its kind does not keep."""
        if self.kind == self.Kind.DAY_PLAN:
            return None
        return WhatIfRequest.of_json(self.asks) if self.kind == self.Kind.WHAT_IF else float(self.asks["percent"])
