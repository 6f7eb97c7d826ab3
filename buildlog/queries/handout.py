"""What handing out the coming shift would change: the kept suggestion against the segments as they stand."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.forecast.questions.handed import Given, Suggestion
from buildlog.models import Build, Question
from buildlog.queries.segments_now import standing_of


@dataclass(frozen=True)
class Preview:
    """The suggestion, and by segment why it cannot be taken as it is any more."""

    question: Question
    suggestion: Suggestion
    reasons: dict[str, str]

    @property
    def helpers(self) -> tuple[tuple[str, tuple[Given, ...]], ...]:
        """(helper, what they would get now)."""
        found = (
            (name, tuple(one for one in own if one.segment not in self.reasons))
            for name, own in self.suggestion.helpers
        )
        return tuple((name, own) for name, own in found if own)

    @property
    def left(self) -> tuple[str, ...]:
        return tuple(self.reasons.values())

    @property
    def version(self) -> str:
        """Another one when the suggestion was made anew."""
        return self.question.answered_at.isoformat() if self.question.answered_at else ""


def preview_of(build: Build) -> Preview | None:
    """None before the first day plan (four queries)."""
    question = build.questions.of_kind(Question.Kind.DAY_PLAN)
    said = question.answer.get("handout") if question and question.answer else None
    if question is None or not said:
        return None
    suggestion, standing = Suggestion(said), standing_of(build)
    crew = set(build.people.working().values_list("name", flat=True))
    whys = {one.segment: one.why_not(standing.get(one.segment), crew) for one in suggestion.given}
    return Preview(question, suggestion, {segment: why for segment, why in whys.items() if why})
