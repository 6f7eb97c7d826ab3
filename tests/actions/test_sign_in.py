"""The first account, PINs and their locks."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.db import connection

from buildlog.actions import crew, sign_in
from buildlog.core.errors import Refused
from tests.people import MONDAY, PASSWORD, begin_build, give_device, hours_after

SECOND = timedelta(seconds=1)


@pytest.fixture
def pin(helper, lead):
    return sign_in.issue_pin(helper, lead, MONDAY)


@pytest.fixture
def tablet(shed):
    return give_device(shed)[0]


def wrong(pin: str) -> str:
    return "000000" if pin != "000000" else "111111"


def fail(person, device, pin, number, at=MONDAY, step=timedelta(seconds=20)):
    """That many wrong PINs, far enough apart not to be slowed."""
    for each in range(number):
        with pytest.raises(Refused, match="not the PIN"):
            sign_in.try_pin(person=person, device=device, pin=wrong(pin), now=at + each * step)


def test_the_first_account_leads_every_build_there_is(db):
    build = begin_build()
    sign_in.first_account(code=sign_in.first_run_code(), username="Ilse", password=PASSWORD, now=MONDAY)
    assert build.people.get(role="lead").name == "Ilse"


def test_the_code_of_the_first_run_works_once(db):
    code = sign_in.first_run_code()
    sign_in.first_account(code=code.lower(), username="Ilse", password=PASSWORD, now=MONDAY)
    assert sign_in.first_run_code() is None
    with pytest.raises(Refused, match="already"):
        sign_in.first_account(code=code, username="Pia", password=PASSWORD, now=MONDAY)


def test_a_wrong_code_makes_no_account(db):
    with pytest.raises(Refused, match="console"):
        sign_in.first_account(code="AAAA-AAAA-AAAA", username="Ilse", password=PASSWORD, now=MONDAY)
    assert not get_user_model().objects.exists()


def test_a_weak_password_is_refused_at_its_field(db):
    with pytest.raises(Refused) as refused:
        sign_in.first_account(code=sign_in.first_run_code(), username="Ilse", password="123", now=MONDAY)
    assert {problem.field for problem in refused.value.problems} == {"password"}


def test_a_pin_is_six_digits_and_is_not_kept(helper, pin):
    helper.refresh_from_db()
    assert len(pin) == 6 and pin.isdigit()
    assert pin not in helper.pin


def test_the_right_pin_is_taken(helper, pin, tablet):
    sign_in.try_pin(person=helper, device=tablet, pin=f" {pin} ", now=MONDAY)
    assert helper.pin_tries.get().right


def test_without_the_pepper_the_hash_is_worth_nothing(helper, pin, tablet, settings):
    settings.PIN_PEPPER = "another pepper, as long as the first one was before"
    with pytest.raises(Refused, match="not the PIN"):
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY)


def test_a_lead_gets_no_pin(lead):
    with pytest.raises(Refused, match="password"):
        sign_in.issue_pin(lead, lead, MONDAY)


def test_a_helper_without_a_pin_asks_the_lead(helper, tablet):
    with pytest.raises(Refused, match="no PIN yet"):
        sign_in.try_pin(person=helper, device=tablet, pin="123456", now=MONDAY)


def test_five_wrong_pins_in_a_quarter_of_an_hour_lock_even_the_right_one(helper, pin, tablet):
    fail(helper, tablet, pin, 5)
    with pytest.raises(Refused, match="locked until Mon 10:15"):
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + timedelta(minutes=14))
    sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + timedelta(minutes=15, seconds=1))


def test_ten_wrong_pins_a_day_lock_for_the_day(helper, pin, tablet):
    fail(helper, tablet, pin, 4)
    fail(helper, tablet, pin, 4, at=hours_after(1))
    fail(helper, tablet, pin, 2, at=hours_after(2))
    with pytest.raises(Refused, match="10 wrong PINs for Marek within a day"):
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=hours_after(20))


def test_wrong_pins_are_counted_for_the_person_whatever_the_device(shed, helper, pin):
    for each in range(5):
        fail(helper, give_device(shed, f"Phone {each}")[0], pin, 1, at=MONDAY + each * 20 * SECOND)
    with pytest.raises(Refused, match="for Marek"):
        sign_in.try_pin(person=helper, device=give_device(shed)[0], pin=pin, now=MONDAY + timedelta(minutes=3))


def test_wrong_pins_are_counted_for_the_device_whoever_it_was(shed, helper, lead, other_helper, tablet):
    people = [helper, other_helper, crew.put(build=shed, name="Sune", by=None, now=MONDAY)]
    pins = [sign_in.issue_pin(person, lead, MONDAY) for person in people]
    for each in range(5):
        person = people[each % 3]
        fail(person, tablet, pins[each % 3], 1, at=MONDAY + each * 20 * SECOND)
    with pytest.raises(Refused, match="on this device"):
        sign_in.try_pin(person=people[2], device=tablet, pin=pins[2], now=MONDAY + timedelta(minutes=3))


def test_a_quick_second_try_has_to_wait(helper, pin, tablet):
    fail(helper, tablet, pin, 3)
    with pytest.raises(Refused, match="Wait 3 s"):
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + 41 * SECOND)


def test_the_lead_unlocks_a_person_and_a_device(shed, helper, lead, pin, tablet):
    fail(helper, tablet, pin, 5)
    sign_in.unlock(build=shed, whom=[helper, tablet], by=lead, now=MONDAY)
    sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + timedelta(minutes=3))
    assert shed.records.filter(verb="unlock").exists()


def test_a_new_pin_opens_the_person_s_lock_and_the_old_one_is_void(shed, helper, lead, pin, tablet):
    fail(helper, tablet, pin, 5)
    new = sign_in.issue_pin(helper, lead, MONDAY)
    other = give_device(shed, "Phone")[0]
    if new != pin:
        fail(helper, other, new, 1, at=MONDAY + timedelta(minutes=3))
    sign_in.try_pin(person=helper, device=other, pin=new, now=MONDAY + timedelta(minutes=4))


def test_a_pin_does_not_open_another_build(helper, pin, outsider):
    strange = give_device(outsider.build)[0]
    with pytest.raises(Refused, match="does not sign in"):
        sign_in.try_pin(person=helper, device=strange, pin=pin, now=MONDAY)


@pytest.mark.django_db(transaction=True)
def test_many_tries_at_once_do_not_slip_past_the_limit(helper, pin, tablet):
    """Eight at the same moment: one is looked at, the others have to wait their second."""

    def guess(number: int) -> str:
        try:
            sign_in.try_pin(person=helper, device=tablet, pin=f"{number:06d}", now=MONDAY)
        except Refused as refused:
            return str(refused)
        finally:
            connection.close()
        return "in"

    with ThreadPoolExecutor(8) as pool:
        said = list(pool.map(guess, [n for n in range(9) if f"{n:06d}" != pin][:8]))
    assert sum("Wait" in one for one in said) == 7 and helper.pin_tries.count() == 1


def test_the_right_pin_clears_the_wrong_ones_before_it(helper, pin, tablet):
    for day in range(4):  # two slips each morning, then in
        fail(helper, tablet, pin, 2, at=hours_after(24 * day + 0.1))
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=hours_after(24 * day + 0.2))
    for each in range(3):  # and on one busy morning four times
        fail(helper, tablet, pin, 4, at=hours_after(100 + each / 4))
        sign_in.try_pin(person=helper, device=tablet, pin=pin, now=hours_after(100.1 + each / 4))


def test_the_right_pin_of_one_does_not_clear_what_was_guessed_of_another(shed, helper, other_helper, lead, pin, tablet):
    others = sign_in.issue_pin(other_helper, lead, MONDAY)
    fail(other_helper, tablet, others, 4)
    sign_in.try_pin(person=helper, device=tablet, pin=pin, now=MONDAY + timedelta(minutes=2))
    fail(other_helper, tablet, others, 1, at=MONDAY + timedelta(minutes=3))
    with pytest.raises(Refused, match="locked"):
        sign_in.try_pin(person=other_helper, device=tablet, pin=others, now=MONDAY + timedelta(minutes=4))
