"""What a device sends: entries, each checked at birth, in a batch with the device's own time of sending.

Nothing that comes from outside gets further than this unread: a body that is not what it should be is refused with
the sentence that says what was found and what is allowed. When something happened is reckoned from the *age* of the
entry; the device's clock is used only as a difference.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.deeds import DeviceEntry, DeviceEntryKind, read_device_entry
from buildlog.core.work.fields import Fields
from buildlog.core.work.ledger import fingerprint

LONGEST_BATCH = 25
LONGEST_TOKEN = 400
LARGEST_NUMBER = 2**53 - 1  # what a script on a device can count to exactly
MOST_AHEAD = 100_000  # numbers that a tablet can have used unheard of: a build takes some thousands of ticks
LATEST_MS = 253_402_300_799_999  # the end of the year 9999
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Envelope:
    """One entry as it was made on a device; ``actor`` is the signed word of who made it, not yet believed."""

    id: UUID
    sequence: int
    actor: str
    kind: DeviceEntryKind
    made_at: datetime  # by the device's clock
    data: Mapping[str, Any]

    @classmethod
    def read(cls, raw: object) -> Envelope:
        """Raises Refused when the entry is not what it should be, its data left aside."""
        fields = Fields.of(raw, "entry", needed={"id", "sequence", "actor", "kind", "made_at", "data"})
        return cls(
            id=fields.uuid("id"),
            sequence=fields.whole("sequence", 1, LARGEST_NUMBER),
            actor=fields.text("actor", LONGEST_TOKEN),
            kind=fields.choice("kind", DeviceEntryKind),
            made_at=moment(fields.whole("made_at", 0, LATEST_MS)),
            data=fields.table("data"),
        )

    def deed(self) -> DeviceEntry:
        """What the data say. Raises Refused when they are not what this kind of entry holds."""
        return read_device_entry(self.kind, self.data)

    def fingerprint(self, device: UUID, person: int) -> str:
        """A digest of all the entry says, to tell a repeat from another entry under the same id."""
        says = json.dumps(self.data, sort_keys=True, separators=(",", ":"))
        return fingerprint([device, person, self.sequence, self.kind, self.made_at.isoformat(), says])


@dataclass(frozen=True, slots=True)
class Batch:
    """Entries on their way, not yet read one by one, and how the device stands."""

    device: UUID
    sent_at: datetime  # by the device's clock
    waiting: int  # entries the device still holds, these included
    oldest_made_at: datetime | None
    entries: tuple[object, ...]

    @classmethod
    def read(cls, raw: object) -> Batch:
        """Raises Refused when the batch as a whole is not what it should be."""
        fields = Fields.of(
            raw, "batch", needed={"device", "sent_at", "entries"}, optional={"waiting", "oldest_made_at"}
        )
        entries = fields.listing("entries", LONGEST_BATCH)
        oldest = fields.optional_whole("oldest_made_at", 0, LATEST_MS)
        return cls(
            device=fields.uuid("device"),
            sent_at=moment(fields.whole("sent_at", 0, LATEST_MS)),
            waiting=fields.optional_whole("waiting", 0, LARGEST_NUMBER) or len(entries),
            oldest_made_at=None if oldest is None else moment(oldest),
            entries=tuple(entries),
        )


def reached(last: int, numbers: Iterable[int]) -> int:
    """How far the row of a device is once these numbers have come. One that it cannot have come to is left out: the
    row would go on from there, and all that was never used would be taken for lost.

    >>> reached(7, [9, 8]), reached(7, [9, 2**53 - 1])
    (9, 9)
    """
    for number in sorted(numbers):
        if number > last + MOST_AHEAD:
            break
        last = max(last, number)
    return last


def moment(milliseconds: int) -> datetime:
    """Milliseconds since 1970 in UTC.

    >>> moment(1_500).isoformat()
    '1970-01-01T00:00:01.500000+00:00'
    """
    return EPOCH + timedelta(milliseconds=milliseconds)


def read_body(body: bytes) -> object:
    """The JSON of a body. Raises Refused when there is none, or more than JSON allows (NaN, Infinity)."""
    try:
        return json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError) as wrong:
        raise Refused(Problem(_("The body is not JSON: send one object with device, sent_at and entries."))) from wrong


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number in JSON")


def happened_at(now: datetime, sent_at: datetime, made_at: datetime, not_before: datetime) -> datetime:
    """When an entry was made, by the server's clock: now less its age when it was sent.

    The age is the difference of two readings of one clock, so how far that clock is off does not matter. If it was
    set between the two, the age may be nonsense: nothing is made after it arrived, nor before ``not_before``, when
    the server itself gave the device the word of who makes it.

    >>> at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    >>> wrong = timedelta(days=-400)
    >>> made = happened_at(at, at + wrong, at + wrong - timedelta(minutes=5), at - timedelta(hours=1))
    >>> f"{made:%H:%M}"
    '08:55'
    """
    age = max(timedelta(0), sent_at - made_at)
    return min(now, max(not_before, now - min(age, now - EPOCH)))
