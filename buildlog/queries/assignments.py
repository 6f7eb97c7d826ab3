"""What assigning the coming shift would change: the saved suggestion against the segments as they stand."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.forecast.result.document.assignments import Assignment, AssignmentsDocument
from buildlog.models import Build, Question
from buildlog.queries.questions import day_plan_of
from buildlog.queries.segments_now import standing_of


@dataclass(frozen=True)
class Preview:
    """The suggestion, and by segment why it cannot be taken as it is any more."""

    question: Question
    suggestion: AssignmentsDocument
    reasons: dict[str, str]

    @property
    def helpers(self) -> tuple[tuple[str, tuple[Assignment, ...]], ...]:
        """(helper, what they would get now)."""
        free = (
            (name, tuple(assignment for assignment in own if assignment.segment not in self.reasons))
            for name, own in self.suggestion.helpers
        )
        return tuple((name, own) for name, own in free if own)

    @property
    def left(self) -> tuple[str, ...]:
        return tuple(self.reasons.values())

    @property
    def version(self) -> str:
        """Another one when the suggestion was made anew."""
        return self.question.answered_at.isoformat() if self.question.answered_at else ""


def preview_of(build: Build) -> Preview | None:
    """None before the first day plan (four queries)."""
    question, plan = day_plan_of(build) or (None, None)
    if question is None or plan is None or plan.assignments is None:
        return None
    suggestion, standing = plan.assignments, standing_of(build)
    crew = set(build.people.working().values_list("name", flat=True))
    whys = {each.segment: each.why_not(standing.get(each.segment), crew) for each in suggestion.assignments}
    return Preview(question, suggestion, {segment: why for segment, why in whys.items() if why})
