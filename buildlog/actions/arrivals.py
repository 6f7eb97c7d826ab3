"""Entries from devices, one after another, a batch in one transaction.

What became of an entry (stored, or refused and why) is kept with its id in the same transaction as what it did, so an
entry that comes again, however late and from however many tries at once, is answered like the first time and does
nothing. A refused entry holds up none of those behind it, and none is answered before all are committed.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import datetime
from functools import cache, partial
from typing import Any

from django.db import DataError, IntegrityError, transaction

from buildlog.actions.actors import Word, refuse_barred, signed_by
from buildlog.actions.deeds import Maker, perform
from buildlog.actions.ticks import Moment, Page, lock
from buildlog.actions.write_queue import write_queue
from buildlog.away import is_away
from buildlog.core.errors import Refused
from buildlog.core.work.deeds import DeviceEntry, DeviceEntryKind
from buildlog.core.work.envelope import LARGEST_NUMBER, Batch, Envelope, happened_at, reached
from buildlog.models import Arrival, Build, Device, Person, prepared_sql

MOST_WAITING = 2**31 - 1
MOST_UNREAD = 1000
STORED, HAD, REFUSED = "stored", "had", "refused"
OTHER_CONTENT = "This id stands there already with other content: the first one counts."
OWN_FAULT = "The server failed on this entry. Nothing was stored; it stays on the tablet: show it to the lead."
UNFIT = "This id is in use elsewhere, or a value is out of range: enter it again."

Signer = Callable[[str], tuple[Person, Word]]

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
    try:
        signer = cache(partial(signed_by, device=device))  # the word of one person comes with many entries
        opened = [_open(device, raw, batch.sent_at, now, signer) for raw in batch.entries]
        broken = [raw for raw, entry in zip(batch.entries, opened, strict=True) if isinstance(entry, Answer)]
        return _together(opened, Contact(device, batch, now, _numbers(broken)))
    except Exception as wrong:
        if not is_away(wrong):
            raise
        log.exception("The database did not take a batch; it will come again.")
        return []


def _together(opened: list[Letter | Answer], contact: Contact) -> list[Answer]:
    """All in one transaction, so that one commit does for them; should one trip it, each by itself to find which."""
    try:
        with write_queue(), transaction.atomic():
            lock(contact.device.build)
            contact.note()
            return _decide_all(contact.device.build, opened)
    except Exception as wrong:
        if is_away(wrong):
            raise
        log.warning("A batch could not be taken as a whole: its entries are taken one by one.", exc_info=True)
    contact.note()
    return list(_one_by_one(opened))


def _one_by_one(opened: list[Letter | Answer]) -> Iterator[Answer]:
    for entry in opened:
        try:
            yield entry if isinstance(entry, Answer) else _by_itself(entry)
        except Exception as wrong:  # one entry that trips the program must not hold up all that follow
            if is_away(wrong):
                log.exception("The database did not take an entry; it will come again.")
                return  # those behind it may build on it: leave them all on the device
            log.exception("An entry could not be taken.")
            yield Answer(entry.id if isinstance(entry, Answer) else str(entry.envelope.id), REFUSED, OWN_FAULT)


def _by_itself(letter: Letter) -> Answer:
    try:
        with write_queue(), transaction.atomic():
            lock(letter.device.build)
            return _decide_all(letter.device.build, [letter])[0]
    except (IntegrityError, DataError) as wrong:
        log.warning("An entry does not fit the tables: %s", type(wrong).__name__)  # its text holds what was typed
    with write_queue(), transaction.atomic():
        lock(letter.device.build)
        register = Register(letter.device.build, [letter])
        if first := register.found(letter):  # it arrived through another build at that very moment
            return _as_before(first, letter)
        answer = _refused(letter, UNFIT, register)
        register.write()
        return answer


def _open(device: Device, raw: object, sent_at: datetime, now: datetime, signer: Signer) -> Letter | Answer:
    """Who made the entry and when; or the answer to one that cannot be read, or that nobody signed for."""
    try:
        envelope = Envelope.read(raw)
        person, word = signer(envelope.actor)
        at = happened_at(now, sent_at, envelope.made_at, word.given_at)
        return Letter(envelope, device, person, word, Moment(at, envelope.made_at, now))
    except Refused as refused:
        return Answer(_id_of(raw), REFUSED, _reason(refused))


class Register:
    """The arrivals that concern one transaction: what is on file of these entries, and what is to be put there.

    Looked up once, and written down together with the page of the ledger.
    """

    def __init__(self, build: Build, letters: Sequence[Letter]) -> None:
        ids = [letter.envelope.id for letter in letters]
        self._known = prepared_sql.arrivals(ids)
        self._new: list[Arrival] = []
        self.page = Page(build, [entry for entry in ids if entry not in self._known])

    def found(self, letter: Letter) -> Arrival | None:
        return self._known.get(letter.envelope.id)

    def keep(self, arrival: Arrival) -> None:
        self._known[arrival.pk] = arrival
        self._new.append(arrival)

    def write(self) -> None:
        self.page.write()
        prepared_sql.append_arrivals(self._new)
        self._new.clear()


def _decide_all(build: Build, opened: Sequence[Letter | Answer]) -> list[Answer]:
    """What becomes of each entry, in the transaction and behind the lock of the caller."""
    register = Register(build, [entry for entry in opened if isinstance(entry, Letter)])
    answers = [entry if isinstance(entry, Answer) else _decide(entry, register) for entry in opened]
    register.write()
    return answers


def _decide(letter: Letter, register: Register) -> Answer:
    if (first := register.found(letter)) is not None:
        return _as_before(first, letter)
    if letter.envelope.kind not in (DeviceEntryKind.TICK, DeviceEntryKind.UNDO):
        register.write()  # stints look at what was ticked and arrived before
    try:
        _do(letter.envelope.deed(), letter, register.page)
    except Refused as refused:
        return _refused(letter, _reason(refused), register)
    register.keep(_arrival_of(letter, letter.envelope.data))
    return Answer(str(letter.envelope.id), STORED)


def _refused(letter: Letter, reason: str, register: Register) -> Answer:
    register.keep(_arrival_of(letter, _readable(letter.envelope), reason))
    return Answer(str(letter.envelope.id), REFUSED, reason)


def _as_before(first: Arrival, letter: Letter) -> Answer:
    if first.fingerprint != letter.fingerprint:
        return Answer(str(first.pk), REFUSED, OTHER_CONTENT)
    stored = first.outcome == Arrival.Outcome.STORED
    return Answer(str(first.pk), HAD if stored else REFUSED, first.reason)


def _do(deed: DeviceEntry, letter: Letter, page: Page) -> None:
    refuse_barred(letter.person, letter.device, letter.word, letter.moment.at)
    envelope, device = letter.envelope, letter.device
    # What an act refuses leaves nothing behind; what the tables refuse undoes the whole transaction.
    perform(deed, Maker(device.build, letter.person, device, envelope.id, envelope.kind, letter.moment, page))


def _readable(envelope: Envelope) -> Mapping[str, Any]:
    """The data of a refused entry, if a table can hold them."""
    try:
        envelope.deed()
    except Refused:
        return {}
    return envelope.data


def _arrival_of(letter: Letter, body: Mapping[str, Any], reason: str = "") -> Arrival:
    envelope, moment = letter.envelope, letter.moment
    return Arrival(
        id=envelope.id, build=letter.device.build, device=letter.device, sequence=envelope.sequence,
        actor=letter.person, kind=envelope.kind, body=dict(body), fingerprint=letter.fingerprint, at=moment.at,
        made_at=moment.made_at, arrived_at=moment.arrived_at,
        outcome=Arrival.Outcome.REFUSED if reason else Arrival.Outcome.STORED, reason=reason,
    )  # fmt: skip


def _reason(refused: Refused) -> str:
    return " ".join(problem.what for problem in refused.problems)[:400]


def _id_of(raw: object) -> str:
    """The id as it was sent, so that the device can find the entry that could not be read."""
    entry_id = raw.get("id") if isinstance(raw, dict) else None
    return entry_id[:64] if isinstance(entry_id, str) else ""


@dataclass(frozen=True, slots=True)
class Contact:
    """What the lead sees of a device: when it was there, how far, how much it still holds, how far off its clock is."""

    device: Device
    batch: Batch
    now: datetime
    unread: Set[int] = frozenset()  # numbers of entries that came but could not be read: they are not missing

    def note(self) -> None:
        last = reached(self.device.last_sequence, _numbers(self.batch.entries))
        if new := {number for number in self.unread if number <= last} - set(self.device.unread):
            self._note_unread(new)
        waiting = max(0, self.batch.waiting - len(self.batch.entries))
        oldest = self.batch.oldest_made_at if waiting else None
        prepared_sql.note_contact(
            id=self.device.pk,
            last_seen_at=self.now,
            last_sequence=last,
            waiting=min(waiting, MOST_WAITING),
            oldest_waiting_at=oldest and happened_at(self.now, self.batch.sent_at, oldest, self.device.enrolled_at),
            clock_offset_s=(self.batch.sent_at - self.now).total_seconds(),
        )

    @transaction.atomic
    def _note_unread(self, new: Set[int]) -> None:
        held = Device.objects.select_for_update(no_key=True).get(pk=self.device.pk)
        held.unread = sorted({*new, *held.unread})[-MOST_UNREAD:]
        held.save(update_fields=["unread"])


def _numbers(entries: Sequence[object]) -> Set[int]:
    """The sequence numbers that can be read."""
    numbers = (raw.get("sequence") for raw in entries if isinstance(raw, dict))
    return {number for number in numbers if type(number) is int and 0 < number <= LARGEST_NUMBER}
