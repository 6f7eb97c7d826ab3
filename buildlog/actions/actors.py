"""The signed word of who makes entries on which device. A page gets it at sign-in; each entry keeps the one it was
made with, so that neither a sign-in that ends in the meantime nor another person at the tablet changes whose work it
is. The word names its sign-in: what was made until that ended is good whenever it arrives, and nothing made after it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

from django.core import signing

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Device, Person, prepared_sql

SALT = "buildlog.actor"
GOOD_FOR = timedelta(days=14)  # for making entries, as long as a sign-in; when they arrive does not matter


@dataclass(frozen=True, slots=True)
class Word:
    """Who, on which device, given when, by which sign-in and when that ended."""

    device: UUID
    person: int
    given_at: datetime
    sign_in: UUID | None = None  # words of earlier releases name none
    ended_at: datetime | None = None


def actor_token(*, person: Person, device: Device, now: datetime, sign_in: str | None = None) -> str:
    """The word for a page of this person on this device."""
    says = [device.pk.hex, person.pk, int(now.timestamp()), *([sign_in] if sign_in else [])]
    return signing.Signer(salt=SALT).sign_object(says)


def read_token(token: str) -> Word:
    """What the word says. Raises Refused when it is not one of ours."""
    try:
        device, person, signed, *sign_in = signing.Signer(salt=SALT).unsign_object(token)
    except (signing.BadSignature, ValueError) as wrong:
        raise Refused(
            Problem(_("Nobody signed for this entry: sign in on this tablet and enter it again."), "actor")
        ) from wrong
    return Word(UUID(device), person, datetime.fromtimestamp(signed, UTC), UUID(sign_in[0]) if sign_in else None)


def signed_by(token: str, device: Device) -> tuple[Person, Word]:
    """Who made an entry on this device, and their word. Raises Refused when the word is not good here."""
    word = read_token(token)
    sign_in = prepared_sql.sign_in(id=word.sign_in) if word.sign_in else None
    return maker_of(word, device), replace(word, ended_at=sign_in.ended_at if sign_in else None)


def maker_of(word: Word, device: Device) -> Person:
    """The person who made the entry on this device. Raises Refused when there is no such person or device."""
    if word.device != device.pk:
        raise Refused(
            Problem(_("This entry was made on another device: send it from there, or enter it again."), "actor")
        )
    person = prepared_sql.person_of_build(build_id=device.build_id, id=word.person)
    if person is None:
        raise Refused(Problem(_("Who made this entry is not in the crew of this build."), "actor"))
    person.build = device.build
    return person


def refuse_barred(person: Person, device: Device, word: Word, at: datetime) -> None:
    """Raises Refused when the device or the person has no say any more, or signed in too long before ``at``."""
    if device.revoked_at is not None:
        raise Refused(Problem(_("{device} was taken off the build: show this to the lead."), "device", device=device))
    if person.left_at is not None:
        raise Refused(Problem(_("{person} has left the crew: show this to the lead."), "actor", person=person))
    if person.role == Person.Role.VIEWER:
        raise Refused(Problem(_("{person} looks on and does not tick: show this to the lead."), "actor", person=person))
    if word.ended_at is not None and at > word.ended_at:
        raise Refused(
            Problem(_("This sign-in of {person} has ended: sign in and enter this again."), "actor", person=person)
        )
    if at > word.given_at + GOOD_FOR:
        raise Refused(
            Problem(
                _("The sign-in was more than {days} days old: sign in and enter this again."),
                "actor",
                days=GOOD_FOR.days,
            )
        )
