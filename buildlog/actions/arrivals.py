"""Entries from devices, one after another, a batch in one transaction.

What became of an entry (stored, or refused and why) is kept with its id in the same transaction as what it did, so an
entry that comes again, however late and from however many tries at once, is answered like the first time and does
nothing. A refused entry holds up none of those behind it, and none is answered before all are committed.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import DataError, IntegrityError, InterfaceError, OperationalError, transaction
from django.db.models.functions import Greatest

from buildlog.actions.actors import Word, maker_of, read_token, refuse_barred
from buildlog.actions.deeds import Maker, perform
from buildlog.actions.ticks import Moment, lock
from buildlog.actions.turn import writers_turn
from buildlog.core.errors import Problem, Refused
from buildlog.core.work.deeds import Deed
from buildlog.core.work.envelope import LARGEST_NUMBER, Batch, Envelope, happened_at
from buildlog.models import Arrival, Device, Person
from buildlog.models.worded import Append, Change, Lookup, blank

MOST_WAITING = 2**31 - 1
STORED, HAD, REFUSED = "stored", "had", "refused"
OTHER_CONTENT = "This id stands there already with other content: the first one counts."
OWN_FAULT = "The server failed on this entry. Nothing was stored; it stays on the tablet: show it to the lead."

UNAVAILABLE = (OperationalError, InterfaceError)

_arrival = Lookup(Arrival.objects.all(), "id")
_append = Append(Arrival)
_note_contact = Change(
    Device,
    "id",
    last_sequence=Greatest("last_sequence", blank(Device, "last_sequence")),
    **{name: blank(Device, name) for name in ("last_seen_at", "waiting", "oldest_waiting_at", "clock_offset_s")},
)
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the device is told about one entry."""

    id: str
    outcome: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Letter:
    """An entry that could be read: who made it on which device, and when it all happened."""

    envelope: Envelope
    device: Device
    person: Person
    word: Word
    moment: Moment

    @property
    def fingerprint(self) -> str:
        return self.envelope.fingerprint(self.device.pk, self.person.pk)


def receive(*, device: Device, batch: Batch, now: datetime) -> list[Answer]:
    """Take every entry of a batch in its order. Those without an answer are to be sent again."""
    contact = Contact(device, batch, now)
    try:
        opened = [_open(device, raw, batch.sent_at, now) for raw in batch.entries]
        return _together(opened, contact)
    except UNAVAILABLE:
        log.exception("The database did not take a batch; it will come again.")
        return []


def _together(opened: list[Letter | Answer], contact: Contact) -> list[Answer]:
    """All in one transaction, so that one commit does for them; should one trip it, each by itself to find which."""
    try:
        with writers_turn(), transaction.atomic():
            lock(contact.device.build)
            contact.note()
            return [one if isinstance(one, Answer) else _decide(one) for one in opened]
    except UNAVAILABLE:
        raise
    except Exception:
        log.warning("A batch could not be taken as a whole: its entries are taken one by one.", exc_info=True)
    contact.note()
    return list(_one_by_one(opened))


def _one_by_one(opened: list[Letter | Answer]) -> Iterator[Answer]:
    for one in opened:
        try:
            yield one if isinstance(one, Answer) else _by_itself(one)
        except UNAVAILABLE:
            log.exception("The database did not take an entry; it will come again.")
            return  # those behind it may build on it: leave them all on the device
        except Exception:  # one entry that trips the program must not hold up all that follow
            log.exception("An entry could not be taken.")
            yield Answer(str(one.envelope.id), REFUSED, OWN_FAULT)


def _by_itself(letter: Letter) -> Answer:
    try:
        return _alone(letter)
    except IntegrityError:  # the same id arrived through another build at this very moment: now it can be seen
        return _alone(letter)


def _alone(letter: Letter) -> Answer:
    with writers_turn(), transaction.atomic():
        lock(letter.device.build)
        return _decide(letter)


def _open(device: Device, raw: object, sent_at: datetime, now: datetime) -> Letter | Answer:
    """Who made the entry and when; or the answer to one that cannot be read, or that nobody signed for."""
    try:
        envelope = Envelope.read(raw)
        word = read_token(envelope.actor)
        at = happened_at(now, sent_at, envelope.made_at, word.given_at)
        return Letter(envelope, device, maker_of(word, device), word, Moment(at, envelope.made_at, now))
    except Refused as refused:
        return Answer(_id_of(raw), REFUSED, _reason(refused))


def _decide(letter: Letter) -> Answer:
    """What becomes of the entry, in the transaction and behind the lock of the caller."""
    first = _arrival(id=letter.envelope.id)
    if first is not None:
        return _as_before(first, letter)
    reason, body = "", letter.envelope.data
    try:
        _do(letter.envelope.deed(), letter)
    except Refused as refused:
        reason, body = _reason(refused), _readable(letter.envelope)
    _keep(letter, reason, body)
    return Answer(str(letter.envelope.id), REFUSED if reason else STORED, reason)


def _as_before(first: Arrival, letter: Letter) -> Answer:
    if first.fingerprint != letter.fingerprint:
        return Answer(str(first.pk), REFUSED, OTHER_CONTENT)
    stored = first.outcome == Arrival.Outcome.STORED
    return Answer(str(first.pk), HAD if stored else REFUSED, first.reason)


def _do(deed: Deed, letter: Letter) -> None:
    refuse_barred(letter.person, letter.device, letter.word, letter.moment.at)
    envelope = letter.envelope
    maker = Maker(letter.device.build, letter.person, letter.device, envelope.id, envelope.kind, letter.moment)
    try:
        perform(deed, maker)  # each act is atomic: what it refuses leaves nothing behind
    except (IntegrityError, DataError) as wrong:
        log.warning("An entry does not fit the tables: %s", wrong)
        raise Refused(Problem("This id is in use elsewhere, or a value is out of range: enter it again.")) from wrong


def _readable(envelope: Envelope) -> Mapping[str, Any]:
    """The data of a refused entry, if a table can hold them."""
    try:
        envelope.deed()
    except Refused:
        return {}
    return envelope.data


def _keep(letter: Letter, reason: str, body: Mapping[str, Any]) -> None:
    envelope, moment = letter.envelope, letter.moment
    _append(
        Arrival(
            id=envelope.id, build=letter.device.build, device=letter.device, sequence=envelope.sequence,
            actor=letter.person, kind=envelope.kind, body=dict(body), fingerprint=letter.fingerprint, at=moment.at,
            made_at=moment.made_at, arrived_at=moment.arrived_at,
            outcome=Arrival.Outcome.REFUSED if reason else Arrival.Outcome.STORED, reason=reason,
        )
    )  # fmt: skip


def _reason(refused: Refused) -> str:
    return " ".join(problem.what for problem in refused.problems)[:400]


def _id_of(raw: object) -> str:
    """The id as it was sent, so that the device can find the entry that could not be read."""
    found = raw.get("id") if isinstance(raw, dict) else None
    return found[:64] if isinstance(found, str) else ""


@dataclass(frozen=True, slots=True)
class Contact:
    """What the lead sees of a device: when it was there, how far, how much it still holds, how far off its clock is."""

    device: Device
    batch: Batch
    now: datetime

    def note(self) -> None:
        waiting = max(0, self.batch.waiting - len(self.batch.entries))
        oldest = self.batch.oldest_made_at if waiting else None
        _note_contact(
            id=self.device.pk,
            last_seen_at=self.now,
            last_sequence=_highest(self.batch),
            waiting=min(waiting, MOST_WAITING),
            oldest_waiting_at=oldest and happened_at(self.now, self.batch.sent_at, oldest, self.device.enrolled_at),
            clock_offset_s=(self.batch.sent_at - self.now).total_seconds(),
        )


def _highest(batch: Batch) -> int:
    """The highest sequence number in the batch, of entries whose number can be read."""
    numbers = [raw.get("sequence") for raw in batch.entries if isinstance(raw, dict)]
    return max((n for n in numbers if type(n) is int and 0 < n <= LARGEST_NUMBER), default=0)
