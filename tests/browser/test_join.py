"""Somebody new: from the lead's screen to the first tick, with every tap counted and nothing explained by anybody."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
import zxingcpp
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page, expect

from buildlog.actions import sign_in
from tests.browser.looks import faults
from tests.people import join_crew

PHONE = {"width": 360, "height": 740, "has_touch": True, "is_mobile": True}


@pytest.fixture(autouse=True)
def rows(transactional_db):
    """The live server's thread sees what the test wrote."""


class Fingers:
    """Taps on a page, counted; a key of the keypad is a tap too."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps, self.keys = page, 0, 0

    def tap(self, role: str, name: str | re.Pattern[str]) -> None:
        """Only what is in sight without scrolling can be tapped by somebody who does not know the page."""
        target = self.page.get_by_role(role, name=name).first
        expect(target).to_be_in_viewport(ratio=1)
        target.tap()
        self.taps += 1

    def type(self, digits: str) -> None:
        self.page.keyboard.type(digits)
        self.keys += len(digits)


def seen_by_a_camera(page: Page) -> str:
    """What a phone's camera reads off the screen."""
    codes = zxingcpp.read_barcodes(Image.open(BytesIO(page.screenshot())))
    assert len(codes) == 1, "one code on the screen, and it scans"
    return codes[0].text


def test_from_the_lead_s_screen_to_the_first_tick(shed, helper, lead, open_page, open_device):
    pin = sign_in.issue_pin(helper, lead, timezone.now())
    desk = open_page(lead, "/b/SHED/crew/", width=1440, height=900)
    desk.get_by_role("link", name="Devices").click()
    desk.get_by_role("button", name="Let a device join").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Let a device join")

    phone = open_device(**PHONE).new_page()
    phone.goto(seen_by_a_camera(desk))
    hand = Fingers(phone)
    hand.tap("button", "Join with this device")
    hand.tap("link", "Marek")
    expect(phone.get_by_label("Your PIN")).to_be_focused()  # the keypad is there without a tap
    hand.type(pin)
    hand.tap("button", "Come in")
    hand.tap("button", "Start to populate")
    hand.tap("button", "+10")
    expect(phone.locator("[data-shows=count]")).to_have_text("10")
    assert (hand.taps, hand.keys) == (5, 6)
    expect(phone.locator("[data-outbox-word]")).to_have_text("All sent", timeout=15_000)
    assert shed.segments.get(code="R1-1").populated == 10
    assert shed.stints.get().people.get() == helper


def test_a_wrong_pin_says_what_to_do_and_costs_no_way_back(shed, helper, lead, open_page):
    page = open_page(helper, f"/b/SHED/switch/{helper.pk}/", **PHONE)
    page.keyboard.type("12345")
    page.keyboard.press("Enter")
    expect(page.get_by_text("A PIN has six digits: type all six.")).to_be_visible()
    expect(page.get_by_label("Your PIN")).to_be_focused()
    assert not faults(page)


def test_a_device_can_be_called_something_else_while_it_joins(shed, lead, open_page, open_device):
    desk = open_page(lead, "/b/SHED/devices/")
    desk.get_by_role("button", name="Let a device join").click()
    phone = open_device(**PHONE).new_page()
    phone.goto(seen_by_a_camera(desk))
    assert not faults(phone)
    phone.get_by_text("Call it something else").tap()
    phone.get_by_label("Name of this device").fill("Blue phone")
    phone.get_by_role("button", name="Join with this device").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Who are you?")
    assert shed.devices.filter(name="Blue phone").exists()


def test_a_crew_too_long_for_the_screen_can_still_be_chosen_from(shed, helper, open_page):
    for number in range(30):
        join_crew(shed, f"Helper {number:02}")
    page = open_page(helper, "/b/SHED/switch/", **PHONE)
    page.get_by_role("link", name="Helper 29").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hello Helper 29")
