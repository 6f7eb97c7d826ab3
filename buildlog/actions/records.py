"""The line on record that goes with every act."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from buildlog.models import Build, Person, Record


def record(*, build: Build, by: Person | None, at: datetime, verb: str, says: str, **detail: Any) -> Record:
    """Keep who did what when; ``says`` is a sentence that a lead can read back."""
    return Record.objects.create(build=build, by=by, at=at, verb=verb, says=says[:400], detail=detail)
