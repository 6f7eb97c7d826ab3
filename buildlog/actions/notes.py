"""Notes: something is wrong with a piece, said by whoever sees it, settled by the lead."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from buildlog.actions.records import record
from buildlog.actions.ticks import current_segment
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build, Note, Person


@transaction.atomic
def leave(*, build: Build, by: Person, note_id: UUID, segment_code: str, says: str, at: datetime) -> Note:
    """Leave a note on a segment for the lead. The same id again changes nothing."""
    says = says.strip()[:400]
    if not says:
        raise Refused(Problem(_("Say in a few words what is wrong."), "says"))
    if (note := build.notes.filter(pk=note_id, by=by).first()) is not None:
        return note
    if Note.objects.filter(pk=note_id).exists():
        raise Refused(Problem(_("This id already belongs to another problem report. Reload the page."), "id"))
    segment = current_segment(build, segment_code)
    note = Note.objects.create(id=note_id, build=build, segment=segment, by=by, at=at, says=says)
    record(build=build, by=by, at=at, verb="leave note", says=f"{by} on {segment}: {says}", note=str(note_id))
    return note


@transaction.atomic
def settle(*, note: Note, by: Person, now: datetime) -> Note:
    """The lead has dealt with it. Settling again changes nothing."""
    note = Note.objects.select_for_update(of=("self",)).select_related("build", "segment").get(pk=note.pk)
    if note.settled_at is None:
        note.settled_at, note.settled_by = now, by
        note.save(update_fields=["settled_at", "settled_by"])
        says = f"{by} settled a note on {note.segment}."
        record(build=note.build, by=by, at=now, verb="settle note", says=says, note=str(note.pk))
    return note
