"""What the crew says is wrong, and what waits for the lead."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.models import Build, Note, Stint


@dataclass(frozen=True)
class LeadDesk:
    """What waits for the lead's word: notes of the crew, and stints of which nobody knows the end."""

    notes: tuple[Note, ...]
    in_doubt: int

    @property
    def empty(self) -> bool:
        return not self.notes and not self.in_doubt


def open_notes(build: Build, code: str = "") -> tuple[Note, ...]:
    """Notes that nobody has dealt with, newest first; with a code those on one segment (one query)."""
    notes = build.notes.filter(settled_at=None).select_related("segment", "by")
    return tuple(notes.filter(segment__code=code) if code else notes)


def lead_desk(build: Build) -> LeadDesk:
    """Two queries."""
    return LeadDesk(open_notes(build), build.stints.filter(state=Stint.State.TO_CONFIRM).count())
