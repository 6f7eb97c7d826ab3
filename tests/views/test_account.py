"""My account: a new password or PIN, where one is signed in, and what ends with each."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildlog import access
from buildlog.actions import crew, devices, passwords, sign_in
from buildlog.models import SignIn
from tests.floor.conftest import outcomes, post_batch, reasons
from tests.floor.tablet import Tablet
from tests.pages import text
from tests.people import MONDAY, PASSWORD, account, client_of, give_device

NEW = "reed-warbler-0815"
FIREFOX = "Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0"


def at_desk(username="Ilse", password=PASSWORD, **headers) -> Client:
    """A browser in which this account has signed in by its form."""
    client = Client(headers=headers)
    client.post(reverse("sign_in"), {"username": username, "password": password})
    return client


def signed_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


@pytest.fixture
def pin(helper, lead):
    return sign_in.issue_pin(helper, lead, timezone.now())


@pytest.fixture
def tablet(shed, helper, pin):
    """A tablet on which Marek has signed in by his PIN."""
    device, key = give_device(shed)
    client = Client()
    client.cookies[access.device_cookie(shed)] = key
    client.post(reverse("enter", args=["SHED", helper.pk]), {"pin": pin})
    return client


def word_on(client: Client) -> dict[str, str]:
    """What a page of Today gives the outbox."""
    return client.get(reverse("today", args=["SHED"])).context["outbox"]


# ---- a lead ---------------------------------------------------------------------------------


def test_a_lead_changes_the_password_and_stays_while_every_other_browser_is_signed_out(shed):
    here, elsewhere = at_desk(), at_desk()
    answer = here.post(reverse("account"), {"current": PASSWORD, "new": NEW}, follow=True)
    assert "Password changed" in text(answer) and signed_in(here) and not signed_in(elsewhere)
    assert signed_in(at_desk(password=NEW)) and not signed_in(at_desk())


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"current": "wrong", "new": NEW}, "current", "Wrong name or password"),
        ({"current": PASSWORD, "new": "1234"}, "new", "too short"),
        ({"current": PASSWORD, "new": "ilse"}, "new", "too similar"),
    ],
)
def test_a_wrong_or_weak_password_is_refused_at_its_field_and_nothing_ends(shed, typed, field, says):
    here, elsewhere = at_desk(), at_desk()
    answer = here.post(reverse("account"), typed)
    assert answer.status_code == 422 and says in str(answer.context["form"].errors[field])
    assert signed_in(elsewhere)


def test_a_lead_sees_where_they_are_signed_in_and_ends_one(shed):
    here, elsewhere = at_desk(), at_desk(**{"User-Agent": FIREFOX})
    page = text(here.get(reverse("account")))
    assert "<strong>Firefox on Windows</strong>" in page and page.count("this one") == 1
    other = SignIn.objects.get(name="Firefox on Windows")
    here.post(reverse("account_end", args=[other.pk]))
    assert signed_in(here) and not signed_in(elsewhere)
    assert len(here.get(reverse("account")).context["rows"]) == 1


def test_times_are_in_the_zone_of_the_build(shed):
    """The shed is an hour ahead of UTC in March."""
    here = at_desk()
    SignIn.objects.update(last_seen_at=MONDAY)
    assert "Last seen Mon 2 Mar, 10:00" in text(here.get(reverse("account")))


def test_nobody_ends_somebody_elses_sign_in(shed, outsider):
    pia = at_desk("Pia")
    other = SignIn.objects.get(account=outsider.user)
    assert at_desk().post(reverse("account_end", args=[other.pk])).status_code == 404
    assert signed_in(pia)


def test_signing_out_everywhere_ends_this_browser_too(shed):
    here, elsewhere = at_desk(), at_desk()
    assert "Signed out everywhere" in text(here.post(reverse("account_sign_out"), follow=True))
    assert not signed_in(here) and not signed_in(elsewhere)
    assert not SignIn.objects.filter(ended_at=None).exists()


def test_signing_out_takes_the_browser_off_the_list(shed):
    here = at_desk()
    at_desk().post(reverse("sign_out"))
    assert len(here.get(reverse("account")).context["rows"]) == 1


def test_when_a_browser_was_last_seen_is_written_down_every_few_minutes(shed, monkeypatch):
    here = at_desk()
    SignIn.objects.update(last_seen_at=timezone.now() - timedelta(hours=1))
    here.get(reverse("account"))
    assert SignIn.objects.get().last_seen_at < timezone.now() - timedelta(minutes=50), "seen a moment ago"
    monkeypatch.setattr("buildlog.actions.sign_ins.cache.add", lambda *_: True)
    here.get(reverse("account"))
    assert SignIn.objects.get().last_seen_at > timezone.now() - timedelta(minutes=1)


def test_the_page_of_an_account_is_for_accounts(shed, tablet, client):
    for address in (reverse("account"), reverse("account_sign_out")):
        for stranger in (client, tablet):
            assert "/sign-in/" in stranger.post(address)["Location"]


def test_the_name_leads_to_it(shed, lead):
    assert f'href="{reverse("account")}?next=/b/SHED/crew/"' in text(
        client_of(lead).get(reverse("crew", args=["SHED"]))
    )
    assert client_of(lead).get(reverse("me", args=["SHED"]))["Location"] == reverse("account")


# ---- somebody with a PIN --------------------------------------------------------------------


def test_a_helper_gets_a_new_pin_for_the_old_one_and_stays_signed_in_here_only(shed, helper, pin, tablet):
    phone = client_of(helper)
    assert "My PIN and sign-ins" in text(tablet.get(reverse("switch_person", args=["SHED"])))
    answer = tablet.post(reverse("me", args=["SHED"]), {"pin": pin})
    new = answer.context["pin"]
    assert len(new) == 6 and new in text(answer)
    assert tablet.get(reverse("today", args=["SHED"])).status_code == 200
    assert phone.get(reverse("today", args=["SHED"])).status_code == 302
    assert shed.records.first().says == "Marek renewed their PIN."


def test_without_the_old_pin_there_is_no_new_one(shed, helper, pin, tablet):
    wrong = "000000" if pin != "000000" else "111111"
    answer = tablet.post(reverse("me", args=["SHED"]), {"pin": wrong})
    assert answer.status_code == 422 and "not the PIN of Marek" in text(answer)
    assert helper.pin_tries.filter(right=False).count() == 1


def test_a_helper_sees_the_tablets_they_are_signed_in_on_and_ends_one(shed, helper, tablet):
    phone = client_of(helper, give_device(shed, "Blue phone"))
    page = text(tablet.get(reverse("me", args=["SHED"])))
    assert "<strong>Blue phone</strong>" in page and "<strong>Tablet 1</strong>" in page
    tablet.post(reverse("me_end", args=["SHED", SignIn.objects.get(name="Blue phone").pk]))
    assert phone.get(reverse("today", args=["SHED"])).status_code == 302
    tablet.post(reverse("me_sign_out", args=["SHED"]))
    assert tablet.get(reverse("today", args=["SHED"])).status_code == 302


# ---- what was signed before -----------------------------------------------------------------


def renew_pin(shed, helper, lead):
    sign_in.issue_pin(helper, lead, timezone.now())


def sign_out_there(shed, helper, lead):
    helper.refresh_from_db()
    client_of(helper).post(reverse("me_sign_out", args=["SHED"]))


def leave_and_return(shed, helper, lead):
    crew.leave(person=helper, by=lead, now=timezone.now())
    crew.come_back(person=helper, by=lead, now=timezone.now())


def arrives(monkeypatch, tablet: Tablet, word: dict[str, str], started):
    """A tick made as the sign-in still ran and one made two seconds after it ended, both sent later."""
    SignIn.objects.exclude(ended_at=None).update(ended_at=started + timedelta(seconds=1))
    moments = (started, started + timedelta(seconds=3))
    made = [tablet.entry("tick", word["actor"], at, segment="R1-1", stage="populate", pixels=5) for at in moments]
    later = started + timedelta(hours=5)
    monkeypatch.setattr("buildlog.views.entries.timezone.now", lambda: later)
    return post_batch(tablet, tablet.batch(made, later))


@pytest.mark.parametrize("end", [renew_pin, sign_out_there, leave_and_return])
def test_what_was_made_before_a_sign_in_ended_arrives_later_and_nothing_made_after_it(
    shed, helper, lead, tablet, end, monkeypatch
):
    word, device, started = word_on(tablet), SignIn.objects.get().device, timezone.now()
    end(shed, helper, lead)
    answer = arrives(monkeypatch, Tablet(device, tablet.cookies["device-SHED"].value), word, started)
    assert outcomes(answer) == ["stored", "refused"]
    assert reasons(answer)[1] == "This sign-in of Marek has ended: sign in and enter this again."
    assert shed.segments.get(code="R1-1").populated == 5


def test_a_new_password_ends_the_word_of_a_lead_on_a_tablet(shed, lead, monkeypatch):
    device, key = give_device(shed, "Office")
    here = at_desk()
    here.cookies["device-SHED"] = key
    word, started = word_on(here), timezone.now()
    passwords.set_password(user=lead.user, password=NEW, now=timezone.now())
    assert outcomes(arrives(monkeypatch, Tablet(device, key), word, started)) == ["stored", "refused"]


def test_a_device_that_is_blocked_leaves_the_list_of_who_was_signed_in_on_it(shed, lead, helper, tablet):
    devices.revoke(device=SignIn.objects.get().device, by=lead, now=timezone.now())
    assert not SignIn.objects.filter(ended_at=None).exists()


def test_an_account_without_a_build_has_its_page_too(db):
    account("Una")
    assert signed_in(at_desk("Una"))
