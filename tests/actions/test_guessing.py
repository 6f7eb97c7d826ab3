"""Somebody guesses passwords from many browsers at once: what it costs the site, and who can still sign in."""

from __future__ import annotations

import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildlog import access
from buildlog.actions import hashing, passwords, sign_in
from buildlog.core.errors import Busy, Refused
from buildlog.core.pins import SITE_LIMITS
from buildlog.models import HashSlot, PasswordTry
from tests.pages import text
from tests.people import MONDAY, PASSWORD, account, begin_build, give_device, join_crew

CLIENTS = 24
SITE_MOST, SITE_SPAN, _ = SITE_LIMITS[0]


class Watched(MD5PasswordHasher):
    """Slow, and counts how many are worked out at the same moment."""

    lock, now, most, total = threading.Lock(), 0, 0, 0

    def encode(self, password, salt):
        cls = type(self)
        with cls.lock:
            cls.now, cls.total = cls.now + 1, cls.total + 1
            cls.most = max(cls.most, cls.now)
        time.sleep(0.03)
        with cls.lock:
            cls.now -= 1
        return super().encode(password, salt)


@pytest.fixture
def watched(settings):
    settings.PASSWORD_HASHERS = [f"{__name__}.Watched"]
    Watched.now = Watched.most = Watched.total = 0
    return Watched


def post(client: Client, name: str, password: str):
    return client.post(reverse("sign_in"), {"username": name, "password": password})


def at_once(act, number: int) -> list:
    def one(place):
        try:
            return act(place)
        finally:
            connection.close()

    with ThreadPoolExecutor(number) as pool:
        return list(pool.map(one, range(number)))


@pytest.mark.django_db(transaction=True)
def test_two_dozen_browsers_guess_and_the_lead_signs_in_on_their_own_laptop(watched):
    account("Ilse")
    laptop, stranger = Client(), Client()
    assert post(laptop, "Ilse", PASSWORD).status_code == 302
    laptop.cookies.pop("sessionid")
    watched.most = watched.total = 0

    def guess(place: int) -> list[int]:
        browser = Client()
        return [post(browser, f"Ilse{place % 12 or ''}", f"guess {number}").status_code for number in range(6)]

    def act(place: int):
        if place < CLIENTS:
            return guess(place)
        time.sleep(0.1)
        return [post(laptop, "Ilse", PASSWORD).status_code]

    begun = time.monotonic()
    *guesses, signed_in = at_once(act, CLIENTS + 1)
    spans = 1 + (time.monotonic() - begun) // SITE_SPAN.total_seconds()
    assert signed_in == [302], "the lead is in while they guess"
    assert watched.most <= 2 and watched.total <= SITE_MOST * spans + 1
    assert set(Counter(sum(guesses, []))) == {422, 429}
    assert post(stranger, "Pia", PASSWORD).status_code in (422, 429)


def test_five_wrong_ones_elsewhere_do_not_lock_a_browser_that_signed_in_before(db):
    account("Ilse")
    laptop, known = Client(), account("Una")
    post(laptop, "Ilse", PASSWORD)
    laptop.post(reverse("sign_out"))
    PasswordTry.objects.bulk_create(
        PasswordTry(name=name, at=timezone.now() - timedelta(minutes=2)) for name in ("ilse", "una") for _ in range(5)
    )
    assert post(Client(), "Ilse", PASSWORD).status_code == 422, "elsewhere the name is locked"
    assert post(laptop, known.username, PASSWORD).status_code == 422, "known for another name only"
    assert post(laptop, "Ilse", PASSWORD).status_code == 302
    assert PasswordTry.objects.filter(name="ilse").count() == 5, "what was guessed elsewhere still counts"


def test_the_allowance_of_a_known_browser_is_five_too(db):
    account("Ilse")
    for number in range(5):
        with pytest.raises(Refused, match="Wrong name or password"):
            passwords.try_password(
                username="Ilse", password="no", browser="b1", now=MONDAY + number * timedelta(seconds=20)
            )
    with pytest.raises(Refused, match="5 wrong passwords"):
        passwords.try_password(username="Ilse", password=PASSWORD, browser="b1", now=MONDAY + timedelta(minutes=2))
    passwords.try_password(username="Ilse", password=PASSWORD, browser="b2", now=MONDAY + timedelta(minutes=2))


def test_a_forged_cookie_makes_no_browser_known(db):
    account("Ilse")
    PasswordTry.objects.bulk_create(
        PasswordTry(name="ilse", at=timezone.now() - timedelta(minutes=2)) for _ in range(5)
    )
    forger = Client()
    forger.cookies[access.KNOWN_COOKIE] = "WyJhYmMiLFsiaWxzZSJdXQ:x"
    assert post(forger, "Ilse", PASSWORD).status_code == 422


def test_when_the_site_has_had_enough_the_answer_says_how_long_and_looks_at_nothing(db, watched):
    account("Ilse")
    watched.total = 0
    PasswordTry.objects.bulk_create(PasswordTry(name=f"n{each}", at=timezone.now()) for each in range(SITE_MOST))
    answer = post(Client(), "Ilse", PASSWORD)
    assert answer.status_code == 429 and 5 <= int(answer["Retry-After"]) <= 10
    assert "Too many sign-ins at the moment" in text(answer) and "signed in before" in text(answer)
    assert watched.total == 0 and PasswordTry.objects.count() == SITE_MOST, "nothing is written down either"


def test_a_full_pool_refuses_a_stranger_at_once_and_a_pin_after_a_while(shed, helper, lead, monkeypatch):
    """As a second server would see it: the slots are rows."""
    pin, tablet = sign_in.issue_pin(helper, lead, MONDAY), give_device(shed)[0]
    hashing.take(known=True, now=MONDAY)
    hashing.take(known=True, now=MONDAY)
    monkeypatch.setattr(hashing, "PATIENCE", timedelta(milliseconds=60))
    with pytest.raises(Busy):
        passwords.try_password(username="Ilse", password=PASSWORD, now=MONDAY)
    with pytest.raises(Busy):
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY)
    assert not PasswordTry.objects.exists() and not helper.pin_tries.exists(), "what was not looked at is not counted"
    sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + hashing.LONGEST), "a server that died lets go"


def test_a_clock_that_was_set_back_leaves_no_slot_taken(db):
    HashSlot.objects.bulk_create(HashSlot(number=number, taken_until=MONDAY) for number in hashing.SLOTS)
    assert hashing.take(known=False, now=MONDAY - timedelta(hours=1)) == 1


def test_strangers_leave_one_slot_to_those_known_here(db):
    assert hashing.take(known=False, now=MONDAY) == 1
    assert hashing.take(known=False, now=MONDAY) is None
    assert hashing.take(known=True, now=MONDAY) == 2


@pytest.mark.django_db(transaction=True)
def test_a_locked_pin_costs_no_hash_and_writes_nothing(watched, django_assert_num_queries):
    build = begin_build("SHED", account("Ilse"))
    helper, tablet = join_crew(build, "Marek"), give_device(build)[0]
    sign_in.issue_pin(helper, None, MONDAY)
    helper.refresh_from_db()
    helper.pin_tries.bulk_create(helper.pin_tries.model(person=helper, device=tablet, at=MONDAY) for _ in range(5))
    watched.total = 0
    with django_assert_num_queries(2) as asked, pytest.raises(Refused, match="locked until"):
        sign_in.try_pin(person=helper, device=tablet, pin="123456", now=MONDAY + timedelta(minutes=3))
    assert watched.total == 0 and all(query["sql"].startswith("SELECT") for query in asked.captured_queries)


@pytest.mark.parametrize(("later", "free"), [(-0.02, False), (0.02, False), (11, True), (-60, True)])
def test_a_slot_is_taken_until_it_is_over_or_the_clock_was_set_back(db, later, free):
    """Two requests read the clock before they come to the slot: the second to get there may have read it first."""
    assert hashing.take(known=False, now=MONDAY)
    assert bool(hashing.take(known=False, now=MONDAY + timedelta(seconds=later))) == free
