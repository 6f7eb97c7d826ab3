"""Coming in: the first account, PINs issued and tried, locks and how the lead opens them."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.models import User
from django.db import transaction

from buildlog.actions import passwords, sign_ins
from buildlog.actions.crew import make_lead
from buildlog.actions.hashing import hash_slot
from buildlog.actions.records import record
from buildlog.core import pins
from buildlog.core.codes import LETTERS, as_meant
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import Count, Sentence, _
from buildlog.models import Build, Device, Person, PinTry

PIN_LENGTH = 6


# ---- the first account ----------------------------------------------------------------------


def first_run_code() -> str | None:
    """The code that makes the first account, as the console prints it; None once there is an account.

    It follows from the installation's secret, so that every process knows it and nothing has to be stored.
    """
    if get_user_model().objects.exists():
        return None
    mac = hmac.digest(settings.SECRET_KEY.encode(), b"first account", "sha256")
    letters = "".join(LETTERS[byte % len(LETTERS)] for byte in mac[:12])
    return "-".join((letters[:4], letters[4:8], letters[8:]))


@transaction.atomic
def first_account(*, code: str, username: str, password: str, now: datetime) -> User:
    """Make the owner's account, which leads every build there is. Works once, with the code from the console."""
    right = first_run_code()
    if right is None:
        raise Refused(Problem(_("There is an account already: sign in with it."), "code"))
    if not hmac.compare_digest(as_meant(code).encode(), as_meant(right).encode()):
        raise Refused(Problem(_("This is not the code: it stands in the console where the app was started."), "code"))
    refuse_account(username=username.strip(), password=password)
    user = get_user_model().objects.create_superuser(username=username.strip(), password=password)
    for build in Build.objects.all():
        make_lead(build=build, user=user)
        says = f"{user.username} made the first account and leads this build."
        record(build=build, by=None, at=now, verb="first account", says=says)
    return user


@transaction.atomic
def give_account(*, person: Person, username: str, password: str, by: Person, now: datetime) -> User:
    """Let a lead of the crew sign in with a password of their own."""
    username = username.strip()
    if not person.is_lead:
        raise Refused(
            Problem(_("{person} is no lead: helpers and viewers come in with a PIN."), "username", person=person)
        )
    if person.user is not None:
        raise Refused(
            Problem(
                _("{person} has an account already: {username}."),
                "username",
                person=person,
                username=person.user.username,
            )
        )
    refuse_account(username=username, password=password)
    user = get_user_model().objects.create_user(username=username, password=password)
    person.user = user
    person.save(update_fields=["user"])
    record(build=person.build, by=by, at=now, verb="give account", says=f"{by} gave {person} an account.")
    return user


def refuse_account(*, username: str, password: str | None) -> None:
    """Raise Refused for a name that is taken and a weak password, both at once; a password of None is not told yet."""
    problems = []
    if get_user_model().objects.filter(username__iexact=username.strip()).exists():
        problems.append(
            Problem(_("There is an account {username!r} already: choose another name."), "username", username=username)
        )
    problems += _weak(username, password) if password is not None else []
    if problems:
        raise Refused(problems)


def _weak(username: str, password: str) -> list[Problem]:
    return [Problem(message, "password") for message in passwords.weaknesses(username, password)]


# ---- PINs -----------------------------------------------------------------------------------


@transaction.atomic
def issue_pin(person: Person, by: Person | None, now: datetime) -> str:
    """A new random PIN, returned once and kept only as a hash. Sign-ins with an older one end; locks open."""
    person = Person.objects.select_for_update(no_key=True, of=("self",)).select_related("build").get(pk=person.pk)
    if person.is_lead:
        raise Refused(
            Problem(_("{person} leads: leads sign in with a password, never with a PIN."), "person", person=person)
        )
    if person.left_at is not None:
        raise Refused(Problem(_("{person} left the crew: take them back into it first."), "person", person=person))
    pin = f"{secrets.randbelow(10**PIN_LENGTH):0{PIN_LENGTH}d}"
    person.pin, person.pin_version = make_password(_peppered(pin)), person.pin_version + 1
    person.save(update_fields=["pin", "pin_version"])
    person.pin_tries.filter(right=False).update(forgiven=True)
    sign_ins.end(which=person.sign_ins.all(), now=now)
    says = f"{person} renewed their PIN." if by == person else f"{person} was given a new PIN."
    record(build=person.build, by=by, at=now, verb="issue PIN", says=says)
    return pin


def try_pin(*, person: Person, device: Device, pin: str, now: datetime) -> None:
    """Take the PIN or raise Refused with the sentence that says why not, and when the next try is possible.

    Locks come first: what they refuse costs no write and no hash. The try is counted before it is looked at, so that
    many at once cannot slip past the limits together; the slow hash is worked out outside the transaction, so that
    nobody's ticks wait for it. The right PIN clears the wrong ones of
    this person: slips of one morning do not add up over days. Those of others on the device still count.
    """
    if reason := _why_not_now(person, device, now):
        raise Refused(Problem(reason, "pin"))
    with hash_slot(known=True, now=now):
        held = _count_try(person, device, now)
        right = check_password(_peppered(pin.strip()), held.person.pin)
    if not right:
        raise Refused(
            Problem(
                _("This is not the PIN of {person}. {tries_left}"),
                "pin",
                person=person,
                tries_left=_tries_left(person, device, now),
            )
        )
    PinTry.objects.filter(pk=held.pk).update(right=True)
    person.pin_tries.filter(right=False, forgiven=False, at__lte=now).update(forgiven=True)
    Device.objects.filter(pk=device.pk).update(last_seen_at=now)


@transaction.atomic
def _count_try(person: Person, device: Device, now: datetime) -> PinTry:
    person = Person.objects.select_for_update(no_key=True, of=("self",)).select_related("build").get(pk=person.pk)
    Device.objects.select_for_update(no_key=True).get(pk=device.pk)
    if person.is_lead or person.left_at is not None or person.build_id != device.build_id:
        raise Refused(Problem(_("{person} does not sign in with a PIN."), "pin", person=person))
    if not person.pin:
        raise Refused(Problem(_("{person} has no PIN yet: ask the lead for one."), "pin", person=person))
    if reason := _why_not_now(person, device, now):
        raise Refused(Problem(reason, "pin"))
    return PinTry.objects.create(person=person, device=device, at=now)


def _why_not_now(person: Person, device: Device, now: datetime) -> Sentence | None:
    by_person = _(
        "{tries} wrong PINs for {person} within {within}: locked until {until:%a %H:%M}. The lead can unlock it."
    )
    by_device = _(
        "{tries} wrong PINs on this device within {within}: locked until {until:%a %H:%M}. The lead can unlock it."
    )
    for whom, template in ((person, by_person), (device, by_device)):
        if lock := pins.lock_of(_wrong(whom, now), now):
            until = lock.until.astimezone(person.build.zone)
            return Sentence(template, tries=lock.tries, person=person, within=lock.within, until=until)
    if wait := pins.wait_after(_wrong(person, now), now):
        seconds = max(1, round(wait.total_seconds()))
        return Sentence(_("Wait {seconds} s, then type the PIN again."), seconds=seconds)
    return None


def _wrong(whom: Person | Device, now: datetime) -> list[datetime]:
    tries = whom.pin_tries.filter(right=False, forgiven=False, at__gt=now - pins.LONGEST_SPAN)
    return list(tries.values_list("at", flat=True))


def _tries_left(person: Person, device: Device, now: datetime) -> Sentence:
    left = min(pins.tries_left(_wrong(whom, now), now) for whom in (person, device))
    if left == 0:
        return Sentence(_("That was the last try for now: the lead can unlock it or give a new PIN."))
    tries = Count(left, _("{number} more try"), _("{number} more tries"))
    return Sentence(_("{tries}; the lead can give a new PIN."), tries=tries)


@transaction.atomic
def unlock(*, build: Build, whom: Iterable[Person | Device], by: Person, now: datetime) -> None:
    """The lead forgives wrong PINs of a person, or on a device: they may try again at once."""
    for target in whom:
        if target.build_id != build.pk:
            raise Refused(Problem(_("{person} does not belong to this build."), person=target))
        if target.pin_tries.filter(right=False, forgiven=False).update(forgiven=True):
            record(build=build, by=by, at=now, verb="unlock", says=f"{by} unlocked {target}.")


def _peppered(pin: str) -> str:
    """A PIN has a million values at most: without the pepper, kept outside the database, its hash gives it away."""
    return hmac.new(settings.PIN_PEPPER.encode(), pin.encode(), "sha256").hexdigest()
