"""What the crew says is wrong, and what waits for the lead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from buildlog.models import Build, Note, Record, Stint
from buildlog.models.build import TOO_MANY

SHOWN_FOR = timedelta(days=3)  # after it was heard of
MOST_CROWDED = 5


@dataclass(frozen=True)
class LeadDesk:
    """What waits for the lead's word: notes of the crew, stints of which nobody knows the end, and what the lead has
    to know of: stints begun without a network where people did not fit."""

    notes: tuple[Note, ...]
    in_doubt: int
    crowded: tuple[Record, ...] = ()

    @property
    def empty(self) -> bool:
        return not self.notes and not self.in_doubt and not self.crowded


def open_notes(build: Build, code: str = "") -> tuple[Note, ...]:
    """Notes that nobody has dealt with, newest first; with a code those on one segment (one query)."""
    notes = build.notes.filter(settled_at=None).select_related("segment", "by")
    return tuple(notes.filter(segment__code=code) if code else notes)


def lead_desk(build: Build, now: datetime) -> LeadDesk:
    """Three queries."""
    in_doubt = build.stints.filter(state=Stint.State.TO_CONFIRM).count()
    return LeadDesk(open_notes(build), in_doubt, _crowded(build, now))


def _crowded(build: Build, now: datetime) -> tuple[Record, ...]:
    """Told for some days from when it arrived, not from when it happened: that may be long ago."""
    since = (now - SHOWN_FOR).isoformat()
    return tuple(build.records.filter(verb=TOO_MANY, detail__arrived__gt=since)[:MOST_CROWDED])
