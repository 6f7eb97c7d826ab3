"""The document of the suggestion for the coming shift: which free segments to assign to whom."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from msgspec import Struct, field

from buildlog.core.forecast.result.document.coding import Fact, Moment


@dataclass(frozen=True, slots=True)
class SegmentNow:
    """A segment as it stands: whose it is, pixels that have passed each stage, who is at it ("" for nobody)."""

    owner: str
    done: tuple[int, ...]
    at_work: str = ""


class Assignment(Struct, frozen=True):
    """One segment for one helper. ``done``: pixels of it that had passed each stage when this was suggested."""

    segment: str
    helper: str
    work: str
    start: Moment
    done: tuple[int, ...]

    def why_not(self, now: SegmentNow | None, crew: Collection[str]) -> str:
        """Why it cannot be assigned as suggested any more; "" when it can."""
        if now is None:
            return f"{self.segment} is not in the plan any more."
        if self.helper not in crew:
            return f"{self.segment}: {self.helper} does not work here any more."
        if now.owner:
            return f"{self.segment} is {now.owner}’s already."
        if now.done != self.done:
            return f"{self.segment} was ticked meanwhile."
        return f"{now.at_work} is at {self.segment} right now." if now.at_work not in ("", self.helper) else ""


class AssignmentsDocument(Struct, frozen=True, kw_only=True):
    """By helper in the order of their work; ``day`` None: nothing is left to assign.

    ``walk``: how far all go from segment to segment, in rings, with nothing assigned and with it.
    """

    day: date | None
    assignments: tuple[Assignment, ...] = field(name="given")
    walk: tuple[float, float]
    sentence: Fact

    @property
    def helpers(self) -> tuple[tuple[str, tuple[Assignment, ...]], ...]:
        """(helper, what they are to get)."""
        names = dict.fromkeys(assignment.helper for assignment in self.assignments)
        return tuple((name, self.of(name)) for name in names)

    def of(self, helper: str | None) -> tuple[Assignment, ...]:
        """What one helper is to get; everything for None."""
        return tuple(assignment for assignment in self.assignments if helper in (None, assignment.helper))
