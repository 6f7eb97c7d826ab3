"""A tablet as the server sees it: makes entries, keeps them in a queue, sends them in batches.

What the outbox script does in the browser, in a few lines of Python; the browser's own is tested in tests/browser.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any

from buildlog.actions.actors import actor_token
from buildlog.models import Device, Person


@dataclass
class Tablet:
    """One device with its own clock, ``off`` by so much, and its own sequence."""

    device: Device
    key: str
    off: timedelta = timedelta(0)
    chance: Random = field(default_factory=lambda: Random(1))
    sequence: int = 0

    def word_of(self, person: Person, now: datetime) -> str:
        return actor_token(person=person, device=self.device, now=now)

    def milliseconds(self, at: datetime) -> int:
        """What this tablet's clock shows at that moment."""
        return round((at + self.off).timestamp() * 1000)

    def entry(self, kind: str, word: str, at: datetime, **data: Any) -> dict[str, Any]:
        self.sequence += 1
        return {
            "id": self.new_id(),
            "sequence": self.sequence,
            "actor": word,
            "kind": kind,
            "made_at": self.milliseconds(at),
            "data": data,
        }

    def new_id(self) -> str:
        return str(uuid.UUID(int=self.chance.getrandbits(128), version=4))

    def batch(self, entries: list[dict[str, Any]], at: datetime, waiting: int | None = None) -> dict[str, Any]:
        return {
            "device": str(self.device.pk),
            "sent_at": self.milliseconds(at),
            "waiting": len(entries) if waiting is None else waiting,
            "oldest_made_at": entries[0]["made_at"] if waiting else None,
            "entries": entries,
        }
