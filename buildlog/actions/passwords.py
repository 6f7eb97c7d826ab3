"""Passwords of leads tried: slowed and locked by the account's name, never by address, and how a lock is opened."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from django.contrib.auth import authenticate, get_user_model
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from buildlog.actions import sign_ins
from buildlog.core.errors import Problem, Refused
from buildlog.core.pins import LONGEST_SPAN, PASSWORD_LIMITS, Lock, lock_of, wait_after
from buildlog.core.wording import Sentence, _
from buildlog.models import PasswordTry, SignIn

WRONG = "Wrong name or password. Both are case-sensitive."


def try_password(*, username: str, password: str, now: datetime) -> User:
    """The account with this password, or Refused with the sentence that says why not, and how long to wait.

    The try is counted before it is looked at, so that many at once cannot slip past the limit together; the slow hash
    is reckoned outside the transaction. The right password clears the wrong ones.
    """
    name = _folded(username)
    _count_try(name, now)
    user = authenticate(None, username=username, password=password)
    if user is None:
        raise Refused(Problem(WRONG))
    PasswordTry.objects.filter(name=name).delete()
    return user


@transaction.atomic
def _count_try(name: str, now: datetime) -> None:
    # Behind others who try the same account; who tries one that does not exist has nothing to guess.
    list(get_user_model().objects.select_for_update(no_key=True).filter(username__iexact=name).values_list("pk"))
    PasswordTry.objects.filter(at__lte=now - LONGEST_SPAN).delete()
    wrong = list(PasswordTry.objects.filter(name=name).values_list("at", flat=True))
    if lock := lock_of(wrong, now, PASSWORD_LIMITS):
        raise Refused(Problem(_locked(lock, now)))
    if wait := wait_after(wrong, now):
        raise Refused(
            Problem(_("Wait {seconds} s, then type the password again."), seconds=max(1, round(wait.total_seconds())))
        )
    PasswordTry.objects.create(name=name, at=now)


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
        try_password(username=user.username, password=current, now=now)
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
        known = ", ".join(get_user_model().objects.order_by("username").values_list("username", flat=True)[:20])
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
