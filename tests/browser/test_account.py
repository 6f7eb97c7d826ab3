"""My account by day and by night, on a phone and at a desk: a password changed, a browser signed out, by keyboard."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from buildlog.actions import sign_in
from tests.browser.looks import faults
from tests.people import PASSWORD, client_of

PHONE = {"width": 360, "height": 740}


@pytest.fixture(autouse=True)
def rows(transactional_db):
    """The live server's thread sees what the test wrote."""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_lead_reaches_the_account_from_their_name_and_changes_the_password(shed, lead, open_page, scheme):
    client_of(lead)  # a laptop elsewhere
    page = open_page(lead, "/b/SHED/crew/", color_scheme=scheme, **PHONE)
    page.locator("details.who > summary").click()
    page.get_by_role("link", name="My account").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("My account")
    assert not faults(page)
    page.get_by_label("Current password").focus()
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Tab")
    page.keyboard.type("reed-warbler-0815")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Password changed.")).to_be_visible()
    expect(page.get_by_text("this one")).to_have_count(1)
    expect(page.get_by_role("button", name="Sign out on Firefox on Linux")).to_have_count(0)
    assert not faults(page)


def test_a_helper_gets_a_new_pin_and_ends_a_sign_in_elsewhere(shed, helper, lead, open_page):
    pin = sign_in.issue_pin(helper, lead, timezone.now())
    helper.refresh_from_db()
    client_of(helper)
    page = open_page(helper, "/b/SHED/switch/", **PHONE)
    page.get_by_role("link", name="My PIN and sign-ins").click()
    assert not faults(page)
    page.get_by_role("button", name="Sign out on Tablet of Marek").click()
    expect(page.get_by_text("Signed out on Tablet of Marek.")).to_be_visible()
    page.get_by_label("Current PIN").fill(pin)
    page.get_by_role("button", name="Get a new PIN").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Your new PIN")
    assert not faults(page)
