"""Entries from devices, one after another, each in a transaction of its own.

What became of an entry (stored, or refused and why) is kept with its id in the same transaction as what it did, so an
entry that comes again, however late and from however many tries at once, is answered like the first time and does
nothing. A refused entry holds up none of those behind it.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import DataError, IntegrityError, InterfaceError, OperationalError, transaction
from django.db.models import Value
from django.db.models.functions import Greatest

from buildlog.actions.actors import Word, maker_of, read_token, refuse_barred
from buildlog.actions.deeds import Maker, perform
from buildlog.actions.ticks import Moment, lock
from buildlog.actions.turn import writers_turn
from buildlog.core.errors import Problem, Refused
from buildlog.core.work.deeds import Deed
from buildlog.core.work.envelope import LARGEST_NUMBER, Batch, Envelope, happened_at
from buildlog.models import Arrival, Device, Person

MOST_WAITING = 2**31 - 1
STORED, HAD, REFUSED = "stored", "had", "refused"
OTHER_CONTENT = "This id stands there already with other content: the first one counts."
OWN_FAULT = "The server failed on this entry. Nothing was stored; it stays on the tablet: show it to the lead."

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
    answers = list(_answers(device, batch, now, contact))
    if not contact.noted:
        contact.note()
    return answers


def _answers(device: Device, batch: Batch, now: datetime, contact: Contact) -> Iterator[Answer]:
    last = len(batch.entries) - 1
    for number, raw in enumerate(batch.entries):
        try:
            yield _take(device, raw, batch.sent_at, now, contact if number == last else None)
        except (OperationalError, InterfaceError):
            log.exception("The database did not take an entry; it will come again.")
            return  # those behind it may build on it: leave them all on the device


def _take(device: Device, raw: object, sent_at: datetime, now: datetime, contact: Contact | None) -> Answer:
    try:
        return _decide_once(_open(device, raw, sent_at, now), contact)
    except Refused as refused:
        return Answer(_id_of(raw), REFUSED, _reason(refused))
    except (OperationalError, InterfaceError):
        raise
    except Exception:  # one entry that trips the program must not hold up all that follow
        log.exception("An entry could not be taken.")
        return Answer(_id_of(raw), REFUSED, OWN_FAULT)


def _open(device: Device, raw: object, sent_at: datetime, now: datetime) -> Letter:
    envelope = Envelope.read(raw)
    word = read_token(envelope.actor)
    at = happened_at(now, sent_at, envelope.made_at, word.given_at)
    return Letter(envelope, device, maker_of(word, device), word, Moment(at, envelope.made_at, now))


def _decide_once(letter: Letter, contact: Contact | None = None) -> Answer:
    try:
        with writers_turn():
            return _decide(letter, contact)
    except IntegrityError:  # the same id arrived through another build at this very moment: now it can be seen
        return _decide(letter, contact)


@transaction.atomic
def _decide(letter: Letter, contact: Contact | None) -> Answer:
    lock(letter.device.build)
    if contact:
        contact.note()  # with the last entry of a batch: one commit less to wait for
    first = Arrival.objects.filter(pk=letter.envelope.id).only("fingerprint", "outcome", "reason").first()
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
    Arrival.objects.create(
        id=envelope.id, build=letter.device.build, device=letter.device, sequence=envelope.sequence,
        actor=letter.person, kind=envelope.kind, body=dict(body), fingerprint=letter.fingerprint, at=moment.at,
        made_at=moment.made_at, arrived_at=moment.arrived_at,
        outcome=Arrival.Outcome.REFUSED if reason else Arrival.Outcome.STORED, reason=reason,
    )  # fmt: skip


def _reason(refused: Refused) -> str:
    return " ".join(problem.what for problem in refused.problems)[:400]


def _id_of(raw: object) -> str:
    """The id as it was sent, so that the device can find the entry that could not be read."""
    found = raw.get("id") if isinstance(raw, dict) else None
    return found[:64] if isinstance(found, str) else ""


@dataclass(slots=True)
class Contact:
    """What the lead sees of a device: when it was there, how far, how much it still holds, how far off its clock is."""

    device: Device
    batch: Batch
    now: datetime
    noted: bool = False

    def note(self) -> None:
        waiting = max(0, self.batch.waiting - len(self.batch.entries))
        oldest = self.batch.oldest_made_at if waiting else None
        Device.objects.filter(pk=self.device.pk).update(
            last_seen_at=self.now,
            last_sequence=Greatest("last_sequence", Value(_highest(self.batch))),
            waiting=min(waiting, MOST_WAITING),
            oldest_waiting_at=oldest and happened_at(self.now, self.batch.sent_at, oldest, self.device.enrolled_at),
            clock_offset_s=(self.batch.sent_at - self.now).total_seconds(),
        )
        self.noted = True


def _highest(batch: Batch) -> int:
    """The highest sequence number in the batch, of entries whose number can be read."""
    numbers = [raw.get("sequence") for raw in batch.entries if isinstance(raw, dict)]
    return max((n for n in numbers if type(n) is int and 0 < n <= LARGEST_NUMBER), default=0)
