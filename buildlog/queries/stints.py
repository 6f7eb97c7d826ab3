"""One stint looked at closely, to put its times right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from buildlog.models import Build, Person, Record, Stint


@dataclass(frozen=True, slots=True)
class StintCorrection:
    """Who put it right when, and the times it had before."""

    says: str
    at: datetime
    started_at: datetime
    ended_at: datetime | None

    @classmethod
    def of(cls, line: Record) -> StintCorrection:
        old = line.detail["old"]
        ended = datetime.fromisoformat(old["ended_at"]) if old["ended_at"] else None
        return cls(line.says, line.at, datetime.fromisoformat(old["started_at"]), ended)


@dataclass(frozen=True)
class StintPage:
    """A stint, when its last pixel was ticked (the likeliest end), and what was changed about it before."""

    stint: Stint
    people: tuple[Person, ...]
    last_tick: datetime | None
    changes: tuple[StintCorrection, ...]

    @property
    def names(self) -> str:
        return " and ".join(person.name for person in self.people)

    @property
    def in_doubt(self) -> bool:
        return self.stint.state == Stint.State.TO_CONFIRM

    @property
    def over(self) -> bool:
        return self.stint.ended_at is not None

    @property
    def likely_end(self) -> datetime:
        """What to suggest as its end: where it is doubted the last tick, or else the day on which it began."""
        if self.in_doubt or self.stint.ended_at is None:
            return self.last_tick or self.stint.started_at
        return self.stint.ended_at


def stint_page(build: Build, person: Person, pk: UUID) -> StintPage | None:
    """A stint of this person, or for a lead anybody's (four queries); None when there is none."""
    stint = build.stints.filter(pk=pk).select_related("job", "segment", "build").first()
    if stint is None:
        return None
    people = tuple(stint.people.all())
    if not person.is_lead and person not in people:
        return None
    last = stint.entries.order_by("-at").values_list("at", flat=True).first()
    changes = build.records.filter(verb="correct stint", detail__stint=str(pk))
    return StintPage(stint, people, last, tuple(map(StintCorrection.of, changes)))
