"""Wrong passwords: slowed, locked by account, opened by waiting, by the right one, or by command."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from buildlog.actions import passwords
from buildlog.core.errors import Busy, Refused
from buildlog.models import PasswordTry
from tests.people import MONDAY, PASSWORD, account

SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)


@pytest.fixture
def ilse(db):
    return account("Ilse")


def attempt(password, at=MONDAY, name="Ilse"):
    return passwords.try_password(username=name, password=password, now=at)


def fail(number, at=MONDAY, name="Ilse"):
    """That many wrong ones, far enough apart not to be slowed. Returns when the last one was."""
    for each in range(number):
        with pytest.raises(Refused, match="Wrong name or password"):
            attempt("no", at + each * 20 * SECOND, name)
    return at + (number - 1) * 20 * SECOND


def test_the_right_password_gives_the_account(ilse):
    assert attempt(PASSWORD) == ilse


def test_a_quick_second_try_has_to_wait(ilse):
    last = fail(3)
    with pytest.raises(Refused, match="Wait 3 s"):
        attempt(PASSWORD, last + SECOND)


def test_five_wrong_ones_lock_and_the_sentence_says_how_long(ilse):
    fail(5)
    with pytest.raises(Refused, match="5 wrong passwords for this name within 15 minutes: wait 11 minutes"):
        attempt(PASSWORD, MONDAY + 4 * MINUTE)
    assert attempt(PASSWORD, MONDAY + 15 * MINUTE + SECOND) == ilse


def test_capitals_do_not_make_another_account_of_it(ilse):
    fail(5, name="ILSE")
    with pytest.raises(Refused, match="5 wrong passwords"):
        attempt(PASSWORD, MONDAY + 2 * MINUTE)


def test_a_name_that_does_not_exist_is_locked_like_one_that_does(ilse):
    fail(5, name="Nobody")
    with pytest.raises(Refused, match="5 wrong passwords"):
        attempt("no", MONDAY + 2 * MINUTE, "Nobody")
    assert attempt(PASSWORD, MONDAY + 2 * MINUTE) == ilse, "others are not touched"


def test_the_right_one_clears_the_wrong_ones(ilse):
    last = fail(4)
    attempt(PASSWORD, last + MINUTE)
    assert not PasswordTry.objects.exists()


def test_tries_of_days_ago_are_not_kept(ilse):
    fail(2)
    fail(1, at=MONDAY + timedelta(days=2), name="Una")
    assert PasswordTry.objects.count() == 1


def test_a_command_opens_the_lock(ilse):
    now = timezone.now()
    fail(5, at=now - 2 * MINUTE)
    out = StringIO()
    call_command("unlock", "ilse", stdout=out)
    assert "5 wrong passwords forgotten" in out.getvalue() and "changepassword" in out.getvalue()
    assert attempt(PASSWORD, now) == ilse


def test_the_command_names_the_accounts_there_are(ilse):
    err = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("unlock", "Nobody", stderr=err)
    assert ended.value.code == 1 and "there are: Ilse" in err.getvalue()


@pytest.mark.django_db(transaction=True)
def test_many_tries_at_once_do_not_slip_past_the_limit():
    account("Ilse")

    def guess(number: int) -> str:
        try:
            attempt(f"guess {number}")
        except Busy:
            return "Wait"  # another guess was being looked at
        except Refused as refused:
            return str(refused)
        finally:
            connection.close()
        return "in"

    with ThreadPoolExecutor(8) as pool:
        said = list(pool.map(guess, range(8)))
    assert sum("Wait" in one for one in said) == 7 and PasswordTry.objects.count() == 1
