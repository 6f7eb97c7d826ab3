"""The floor screens under a finger, by keyboard, with and without script, with and without a network."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.utils import timezone
from playwright.sync_api import Page, expect

from buildlog.actions import devices, sign_in, stints
from buildlog.core.work.stages import Stage
from buildlog.models import Job, Note, Stint
from tests.browser.looks import faults
from tests.people import give, join_crew, start_stint, work_through

PHONE = {"width": 360, "height": 740}


@pytest.fixture(autouse=True)
def rows(transactional_db):
    """The live server's thread sees what the test wrote."""


@pytest.fixture
def busy(shed, helper, other_helper, lead):
    """A build in the middle of things, so that every part of the floor screens has something to show."""
    now = timezone.now()
    give(shed, helper, "R1-1", "R2-1", "R4-1")
    work_through(shed.segments.get(code="R4-1"), Stage.WIRE, by=other_helper)
    work_through(shed.segments.get(code="R2-2"), Stage.MOUNT, by=other_helper)
    Job.objects.create(build=shed, name="Controller box", hours_low=1, hours_likely=2, hours_high=3)
    Note.objects.create(build=shed, segment=shed.segments.get(code="R1-1"), by=helper, at=now, says="Torn.")
    start_stint(helper, segment=shed.segments.get(code="R1-1"), at=now - timedelta(hours=20))
    stints.close_forgotten(build=shed, now=now)
    join_crew(shed, "Wilhelmina-Charlotte van der Veen-Zuiderduin")
    return shed


# ---- from the code to the first tick --------------------------------------------------------


def test_from_scanning_the_code_to_the_first_tick(shed, helper, lead, open_device):
    """The aim is a minute for somebody who sees it for the first time; here only the taps are counted."""
    now = timezone.now()
    pin, code = sign_in.issue_pin(helper, lead, now), devices.invite(build=shed, by=lead, now=now)
    page = open_device(**PHONE).new_page()
    taps = 0
    page.goto(f"/b/SHED/join/?c={code}")
    for name in ("Join with this device", "Marek"):
        page.get_by_role("button", name=name).or_(page.get_by_role("link", name=name)).click()
        taps += 1
    page.get_by_label("Your PIN").fill(pin)
    for name in ("Come in", "Start to populate", "+10"):
        page.get_by_role("button", name=name, exact=True).click()
        taps += 1
    expect(page.locator("[data-shows=count]")).to_have_text("10")
    assert taps == 5
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=15_000)
    assert shed.segments.get(code="R1-1").populated == 10 and shed.stints.get().entries.count() == 1


def test_another_person_takes_over_with_two_taps_and_a_pin(shed, helper, other_helper, lead, open_page):
    page, pin = open_page(helper, **PHONE), sign_in.issue_pin(other_helper, lead, timezone.now())
    page.get_by_role("link", name=re.compile("Switch")).click()
    page.get_by_role("link", name="Noor").click()
    page.get_by_label("Your PIN").fill(pin)
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name=re.compile("Noor is here"))).to_be_visible()


# ---- a tap is answered before the network is ------------------------------------------------


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).first.click()


def test_without_a_network_a_whole_piece_is_done_and_the_next_one_begun(shed, helper, open_page):
    page = open_page(helper)
    page.context.set_offline(True)
    press(page, "Start to populate")
    expect(page.locator("[data-stint]")).to_be_visible()
    press(page, "+10")
    expect(page.locator("[data-shows=count]")).to_have_text("10")
    expect(page.get_by_role("button", name="All 10 populated")).to_be_visible()
    press(page, "All 10 populated")
    expect(page.locator("[data-piece-done]")).to_be_visible()
    expect(page.locator("[data-outbox-word]")).to_have_attribute("data-state", "offline", timeout=10_000)
    page.locator("[data-next]", has_text="R1-2").click()
    expect(page.get_by_role("heading", name="R1-2")).to_be_visible()
    press(page, "+10")
    press(page, "Stop")
    expect(page.get_by_role("button", name="Start to populate")).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=30_000)
    assert [shed.segments.get(code=code).populated for code in ("R1-1", "R1-2")] == [20, 10]
    stint = shed.stints.get()
    assert (stint.state, stint.entries.count()) == (Stint.State.CLOSED, 3)


def test_a_slip_is_taken_back_before_it_was_even_sent(shed, helper, open_page):
    page = open_page(helper)
    page.context.set_offline(True)
    press(page, "+10")
    expect(page.locator("[data-undo]")).to_contain_text("R1-1: 10 pixels populated.")
    page.locator("[data-undo] button").click()
    expect(page.locator("[data-shows=count]")).to_have_text("0")
    expect(page.locator("[data-undo]")).to_be_hidden()
    page.context.set_offline(False)
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=30_000)
    assert shed.segments.get(code="R1-1").populated == 0 and shed.entries.count() == 2


def test_a_tick_of_the_history_is_taken_back(shed, helper, open_page):
    work_through(shed.segments.get(code="R1-1"), Stage.POPULATE, by=helper, at=timezone.now(), pixels=7)
    page = open_page(helper)
    page.get_by_role("button", name="Undo 7 pixels of R1-1").click()
    expect(page.locator("[data-shows=count]")).to_have_text("0")
    expect(page.locator("[data-history] li", has_text="undone")).to_be_visible(timeout=15_000)
    assert shed.segments.get(code="R1-1").populated == 0


def test_rest_and_go_on_show_at_once(shed, helper, open_page):
    start_stint(helper, segment=shed.segments.get(code="R1-1"), at=timezone.now() - timedelta(minutes=5))
    page = open_page(helper)
    page.context.set_offline(True)
    press(page, "Rest")
    expect(page.locator("[data-shows=resting]")).to_be_visible()
    press(page, "Go on")
    expect(page.locator("[data-shows=resting]")).to_be_hidden()


def test_two_stints_without_a_network_are_two(shed, helper, open_page):
    page = open_page(helper)
    page.context.set_offline(True)
    for name in ("Start to populate", "Stop", "Start to populate", "Stop"):
        press(page, name)
        page.wait_for_timeout(50)
    page.context.set_offline(False)
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=30_000)
    assert shed.stints.count() == 2


def test_a_note_that_is_being_written_is_not_swept_away(shed, helper, open_page):
    page = open_page(helper)
    page.get_by_text("Something is wrong").click()
    page.get_by_label(re.compile("What is wrong")).fill("The strap is torn")
    press(page, "+10")
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=15_000)
    page.wait_for_timeout(500)
    expect(page.get_by_label(re.compile("What is wrong"))).to_have_value("The strap is torn")
    with page.expect_response("**/entries/"):  # "All sent" stands there from before
        press(page, "Tell the lead")
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=15_000)
    assert shed.notes.get().says == "The strap is torn"


def test_without_script_all_of_it_works_with_plain_forms(shed, helper, open_page):
    page = open_page(helper, java_script_enabled=False)
    press(page, "Start to populate")
    press(page, "+10")
    expect(page.locator("[data-shows=count]")).to_have_text("10")
    press(page, "Undo")
    press(page, "Stop")
    assert shed.segments.get(code="R1-1").populated == 0 and shed.stints.get().ended_at


def test_by_keyboard_alone(shed, helper, open_page):
    page = open_page(helper)
    for name in ("Start to populate", "+10"):
        page.get_by_role("button", name=name, exact=True).focus()
        page.keyboard.press("Enter")
    page.get_by_label("Another number").focus()
    page.keyboard.type("4")
    page.keyboard.press("Enter")
    expect(page.locator("[data-shows=count]")).to_have_text("14")


# ---- on a phone: what no link leads to, or what only one state of the build shows; the rest is in test_crawl

FOR_HELPERS = ["today/?piece=R4-1", "today/?piece=R2-2", "today/?piece=R5-1"]
FOR_NOBODY = ["/", "/sign-in/", "/b/SHED/join/"]


@pytest.mark.parametrize("path", FOR_HELPERS)
def test_a_helper_s_screens_fit_a_phone_and_a_gloved_finger(busy, helper, open_page, path):
    assert not faults(open_page(helper, f"/b/SHED/{path}", **PHONE))


def test_the_running_stint_fits_too(busy, helper, open_page):
    start_stint(helper, segment=busy.segments.get(code="R1-1"), at=timezone.now() - timedelta(hours=2))
    work_through(busy.segments.get(code="R1-1"), Stage.POPULATE, by=helper, at=timezone.now(), pixels=3)
    assert not faults(open_page(helper, **PHONE))


def test_joining_a_device_that_a_lead_holds_fits_a_phone(busy, lead, open_page):
    assert not faults(open_page(lead, "/b/SHED/join/", **PHONE))


@pytest.mark.parametrize("path", FOR_NOBODY)
def test_the_way_in_fits_a_phone(busy, open_device, path):
    page = open_device(**PHONE).new_page()
    page.goto(path)
    assert not faults(page)


def test_the_first_run_fits_a_phone(db, open_device):
    get_user_model().objects.all().delete()
    page = open_device(**PHONE).new_page()
    page.goto("/first-run/")
    assert not faults(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_today_holds_in_both_themes_and_on_a_tablet(busy, helper, open_page, scheme):
    assert not faults(open_page(helper, color_scheme=scheme))
