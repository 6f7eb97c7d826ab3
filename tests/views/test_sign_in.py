"""Coming in: password, first account, joining with a device, name and PIN, switching."""

from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildlog import access
from buildlog.actions import devices, sign_in
from buildlog.models import PasswordTry, Person
from tests.people import PASSWORD, account, begin_build, client_of, give_device


@pytest.fixture
def pin(helper, lead):
    return sign_in.issue_pin(helper, lead, timezone.now())


@pytest.fixture
def tablet(shed):
    """A browser that has joined, with nobody signed in."""
    device, key = give_device(shed)
    client = Client()
    client.cookies[access.device_cookie(shed)] = key
    return client


def enter(client, person, pin, **more):
    return client.post(reverse("enter", args=[person.build.code, person.pk]), {"pin": pin, **more})


def test_without_an_account_everything_leads_to_the_first_run(db, client):
    assert client.get("/").headers["Location"] == reverse("first_run")
    assert client.get(reverse("sign_in")).headers["Location"] == reverse("first_run")


def test_the_first_account_is_signed_in_and_leads(db, client):
    build = begin_build()
    said = {"code": sign_in.first_run_code(), "username": "Ilse", "password": PASSWORD}
    assert client.post(reverse("first_run"), said).status_code == 302
    assert build.people.get(role=Person.Role.LEAD).user.username == "Ilse"
    assert "Shed of SHED" in client.get("/").text


def test_a_wrong_first_code_keeps_what_was_typed(db, client):
    answer = client.post(reverse("first_run"), {"code": "x", "username": "Ilse", "password": PASSWORD})
    assert answer.status_code == 422
    assert 'value="Ilse"' in answer.text and "not the code" in answer.text
    assert not get_user_model().objects.exists()


def test_the_first_run_is_over_once_there_is_an_account(shed, client):
    assert client.get(reverse("first_run")).headers["Location"] == reverse("sign_in")


def test_a_lead_signs_in_with_a_password_and_goes_where_they_wanted(shed, client):
    said = {"username": "Ilse", "password": PASSWORD, "next": "/b/SHED/today/"}
    assert client.post(reverse("sign_in"), said).headers["Location"] == "/b/SHED/today/"


def test_a_wrong_password_is_said_and_nobody_is_in(shed, client):
    answer = client.post(reverse("sign_in"), {"username": "Ilse", "password": "no"})
    assert answer.status_code == 422 and "Wrong name or password" in answer.text


def test_wrong_passwords_lock_the_account_from_wherever_they_come(shed, client):
    """By account alone: ten addresses count together, and one address locks nobody else out."""
    account("Una")
    long_ago = timezone.now() - timedelta(minutes=5)
    PasswordTry.objects.bulk_create(PasswordTry(name="ilse", at=long_ago) for _ in range(5))
    said = {"username": "Ilse", "password": PASSWORD}
    for number in range(3):
        answer = client.post(reverse("sign_in"), said, REMOTE_ADDR=f"192.168.7.{number}")
        assert answer.status_code == 422 and "wait 10 minutes" in answer.text and 'value="Ilse"' in answer.text
    assert client.post(reverse("sign_in"), said | {"username": "Una"}).status_code == 302


def test_nobody_is_sent_elsewhere_after_signing_in(shed, client):
    said = {"username": "Ilse", "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert client.post(reverse("sign_in"), said).headers["Location"] == "/"


def test_signing_out_takes_a_post(shed, lead):
    client = client_of(lead)
    assert client.get(reverse("sign_out")).status_code == 405
    client.post(reverse("sign_out"))
    assert "Who comes in?" in client.get("/").text


def test_a_device_joins_with_its_code_and_helpers_come_in_on_it(shed, helper, lead, pin, client):
    code = devices.invite(build=shed, by=lead, now=timezone.now())
    assert "Join with this device" in client.get(reverse("join", args=["SHED"]), {"c": code}).text
    answer = client.post(reverse("join", args=["SHED"]), {"c": code, "name": "Yellow"}, follow=True)
    assert "Who are you?" in answer.text and "Marek" in answer.text
    answer = enter(client, helper, pin)
    assert answer.headers["Location"] == reverse("today", args=["SHED"])
    assert client.get("/").headers["Location"] == reverse("today", args=["SHED"])


def test_looking_at_the_join_page_uses_nothing_up(shed, lead, client):
    code = devices.invite(build=shed, by=lead, now=timezone.now())
    for _ in range(3):
        client.get(reverse("join", args=["SHED"]), {"c": code})
    assert not shed.devices.exists() and shed.join_codes.get().used_at is None


def test_a_code_that_is_not_known_is_said(shed, client):
    assert "not known here" in client.get(reverse("join", args=["SHED"]), {"c": "AAAA2222"}).text


def test_without_a_code_the_page_asks_for_one_and_names_nobody(shed, helper, client):
    text = client.get(reverse("join", args=["SHED"])).text
    assert "Scan the code" in text and "Marek" not in text


def test_no_pin_is_taken_without_a_device(shed, helper, pin, client):
    assert enter(client, helper, pin).headers["Location"] == reverse("join", args=["SHED"])
    assert not helper.pin_tries.exists()


def test_a_wrong_pin_is_said_and_counted(shed, helper, pin, tablet):
    answer = enter(tablet, helper, "000000" if pin != "000000" else "111111")
    assert answer.status_code == 422 and "not the PIN of Marek" in answer.text
    assert helper.pin_tries.filter(right=False).count() == 1


def test_five_digits_are_no_pin_and_are_not_counted(shed, helper, pin, tablet):
    assert "six digits" in enter(tablet, helper, "12345").text
    assert not helper.pin_tries.exists()


def test_a_viewer_comes_in_the_same_way_and_sees_the_ball(shed, viewer, lead, tablet):
    pin = sign_in.issue_pin(viewer, lead, timezone.now())
    assert enter(tablet, viewer, pin).headers["Location"] == reverse("sphere", args=["SHED"])


def test_another_person_takes_over_only_with_their_pin(shed, helper, other_helper, lead, pin, tablet):
    enter(tablet, helper, pin)
    names = tablet.get(reverse("switch_person", args=["SHED"])).text
    assert "Noor" in names and "Sign Marek out" in names
    tablet.get(reverse("enter", args=["SHED", other_helper.pk]))
    assert access.SESSION_KEY in tablet.session and tablet.session[access.SESSION_KEY]["id"] == helper.pk
    enter(tablet, other_helper, sign_in.issue_pin(other_helper, lead, timezone.now()))
    assert tablet.session[access.SESSION_KEY]["id"] == other_helper.pk


def test_who_used_the_device_lately_stands_first(shed, helper, other_helper, lead, tablet):
    enter(tablet, other_helper, sign_in.issue_pin(other_helper, lead, timezone.now()))
    people = tablet.get(reverse("switch_person", args=["SHED"])).context["people"]
    assert (people.lately, people.others) == ((other_helper,), (helper,))


def test_a_lead_makes_the_browser_at_hand_a_device_with_one_tap(shed, lead):
    client = client_of(lead)
    assert "Make this browser a device" in client.get(reverse("join", args=["SHED"])).text
    client.post(reverse("join_here", args=["SHED"]))
    assert shed.devices.get().name == "Ilse's own"
    client.post(reverse("join_here", args=["SHED"]))
    assert shed.devices.count() == 1


def test_a_helper_cannot_make_devices(shed, helper):
    assert client_of(helper).post(reverse("join_here", args=["SHED"])).status_code == 403


def test_the_cookie_of_a_device_is_out_of_reach_for_scripts(shed, lead):
    answer = client_of(lead).post(reverse("join_here", args=["SHED"]))
    cookie = answer.cookies[access.device_cookie(shed)]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and cookie["max-age"] == access.COOKIE_AGE_S


def test_home_shows_only_the_builds_one_has_a_part_in(shed, lead, outsider):
    text = client_of(lead).get("/").text
    assert "Shed of SHED" in text and "Shed of LOFT" not in text


def test_home_without_a_build_says_what_to_do(db, client):
    client.force_login(account("Pia", owner=True))
    text = client.get("/").text
    assert "No build yet" in text and "Plan a ball" in text


def test_a_browser_that_joined_is_offered_its_builds(shed, tablet):
    assert "Go on at Shed of SHED" in tablet.get("/").text


def test_home_takes_one_query_for_all_builds(shed, lead, django_assert_num_queries):
    begin_build("BARN", lead.user)
    client = client_of(lead)
    with django_assert_num_queries(4):  # session, account, builds, whether it may begin one
        client.get("/")


def test_names_take_seven_queries(shed, helper, other_helper, lead, pin, tablet, django_assert_num_queries):
    enter(tablet, helper, pin)
    with django_assert_num_queries(7):  # session, build, device twice, who is here, people, who was here lately
        tablet.get(reverse("switch_person", args=["SHED"]))
