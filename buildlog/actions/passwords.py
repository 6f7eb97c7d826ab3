"""Passwords of leads: tried, slowed and locked by name and known browser, never by address; changed; unlocked."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from buildlog.actions import sign_ins
from buildlog.actions.hashing import hash_slot
from buildlog.core.errors import Busy, Problem, Refused
from buildlog.core.pins import LONGEST_SPAN, PASSWORD_LIMITS, SITE_LIMITS, Lock, lock_of, wait_after
from buildlog.core.wording import Sentence, _
from buildlog.models import PasswordTry, SignIn

SIGNED_IN = "signed in"  # where the browser is, so to speak: somebody at an open page guesses there
WRONG = "Wrong name or password. Both are case-sensitive."


def try_password(*, username: str, password: str, now: datetime, browser: str = "") -> User:
    """The account with this password, or Refused with the sentence that says why not, and how long to wait.

    ``browser`` is one that signed in with this name before: it has tries of its own, which nobody elsewhere uses up.
    What would be refused anyway is refused without writing anything. The try is counted before it is looked at, so that
    many at once cannot slip past the limit together; the slow hash is worked out outside the transaction. The right
    password clears the wrong ones of its browser, or of all others. Raises Busy when too much is tried at once.
    """
    name = _folded(username)
    _refuse_now(name, browser, now)
    with hash_slot(known=bool(browser), now=now):
        _count_try(name, browser, now)
        user = authenticate(None, username=username, password=password)
    if user is None:
        raise Refused(Problem(WRONG))
    PasswordTry.objects.filter(name=name, browser=browser).delete()
    return user


@transaction.atomic
def _count_try(name: str, browser: str, now: datetime) -> None:
    # Behind others who try the same account; who tries one that does not exist has nothing to guess.
    list(User.objects.select_for_update(no_key=True).filter(username__iexact=name).values_list("pk"))
    PasswordTry.objects.filter(at__lte=now - LONGEST_SPAN).delete()
    _refuse_now(name, browser, now)
    PasswordTry.objects.create(name=name, browser=browser, at=now)


def _refuse_now(name: str, browser: str, now: datetime) -> None:
    if not browser:
        _refuse_site(now)  # first: it costs the least while somebody guesses
    wrong = list(PasswordTry.objects.filter(name=name, browser=browser).values_list("at", flat=True))
    if lock := lock_of(wrong, now, PASSWORD_LIMITS):
        raise Refused(Problem(_locked(lock, now)))
    if wait := wait_after(wrong, now):
        says = _("Wait {seconds} s, then type the password again.")
        raise Refused(Problem(says, seconds=max(1, round(wait.total_seconds()))))


def _refuse_site(now: datetime) -> None:
    tries = PasswordTry.objects.filter(browser="", at__gt=now - SITE_LIMITS[0][1])
    if lock := lock_of(list(tries.values_list("at", flat=True)), now, SITE_LIMITS):
        raise Busy(
            Sentence(_("Too many sign-ins at the moment.")),
            retry_after_s=max(1, math.ceil((lock.until - now).total_seconds())),
        )


def _locked(lock: Lock, now: datetime) -> Sentence:
    minutes = max(1, math.ceil((lock.until - now) / timedelta(minutes=1)))
    return Sentence(
        _(
            "{tries} wrong passwords for this name within {within}: wait {minutes} minutes. At the "
            "machine that serves this site the command “unlock” opens it at once."
        ),
        tries=lock.tries,
        within=lock.within,
        minutes=minutes,
    )


def change_password(*, user: User, current: str, new: str, now: datetime) -> None:
    """A new password by somebody who knows the one in force. Raises Refused at the field that is wrong."""
    try:
        try_password(username=user.username, password=current, browser=SIGNED_IN, now=now)
    except Refused as refused:
        raise Refused([problem.at(field="current") for problem in refused.problems]) from refused
    set_password(user=user, password=new, now=now)


@transaction.atomic
def set_password(*, user: User, password: str, now: datetime) -> None:
    """A new password. Every sign-in with the old one ends. Refused where it is too easy to guess."""
    if weak := weaknesses(user.username, password):
        raise Refused(Problem(message, "new") for message in weak)
    user.set_password(password)
    user.save(update_fields=["password"])
    sign_ins.end(which=SignIn.objects.filter(account=user), now=now)


def weaknesses(username: str, password: str) -> list[str]:
    """Why a password is too easy to guess, in sentences."""
    try:
        validate_password(password, User(username=username))
    except ValidationError as problem:
        return problem.messages
    return []


def unlock(*, username: str, now: datetime) -> int:
    """Forget the wrong passwords of an account. Returns how many there were. Refused when there is no such account."""
    user = account_called(username)
    recent = PasswordTry.objects.filter(name=_folded(user.username), at__gt=now - LONGEST_SPAN)
    return recent.delete()[0]


def account_called(username: str) -> User:
    """The account of this name. Refused with the names that there are."""
    user = User.objects.filter(username__iexact=username.strip()).first()
    if user is None:
        known = ", ".join(User.objects.order_by("username").values_list("username", flat=True)[:20])
        raise Refused(
            Problem(
                _("There is no account {username!r}; there are: {names}."),
                "NAME",
                username=username,
                names=known or "none yet",
            )
        )
    return user


def _folded(username: str) -> str:
    return username.strip().lower()[:150]
