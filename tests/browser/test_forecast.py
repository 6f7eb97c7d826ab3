"""The Forecast screens under a lead's keys: ask what if, see that it is being worked out, see the answer beside today.

Answers are made beside the app by `tend`; here the test does its part, one question after the other.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from buildlog import answering, forecasting
from buildlog.actions import builds, closing, crew
from buildlog.core.work.stages import order_of
from tests.browser.conftest import wait
from tests.browser.looks import faults
from tests.people import work_through

PHONE = {"width": 360, "height": 740}
SOON = 20_000  # a busy machine takes its time


@pytest.fixture(autouse=True)
def rows(transactional_db):
    """The live server's thread sees what the test wrote."""


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 20)


@pytest.fixture
def known(shed, helper, other_helper, lead):
    """Marek and Noor come an hour a day; there is a target and a forecast."""
    now = timezone.now()
    for day in range(1, 30):
        for person in (helper, other_helper):
            begin = now + timedelta(days=day)
            person.shifts.create(starts_at=begin, ends_at=begin + timedelta(hours=1))
    builds.describe(build=shed, by=lead, now=now, target_at=now + timedelta(days=4))
    forecasting.refresh(shed, now)
    return shed


def answer_all(build) -> None:
    while answering.answer_next(build, timezone.now()) is not None:
        pass


def tab_to(page: Page, target: Locator) -> None:
    """Go on with Tab until the focus is there."""
    expect(target).to_be_visible()
    for _ in range(150):
        if target.evaluate("one => one === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never reaches {target}")


def test_a_lead_asks_what_if_with_the_keyboard_and_sees_the_answer_beside_today(known, lead, open_page):
    page = open_page(lead, "/b/SHED/forecast/what-if/", own_clock=True)
    tab_to(page, page.get_by_role("link", name="Ask what if").first)
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_label("Name", exact=True))
    page.keyboard.type("Two more, three inside")
    tab_to(page, page.get_by_label("How many").first)
    page.keyboard.type("2")
    for day in ("Sat", "Sun"):
        tab_to(page, page.get_by_label(day).first)
        page.keyboard.press("Space")
    tab_to(page, page.get_by_label("Wire", exact=True))
    page.keyboard.type("3")
    tab_to(page, page.get_by_role("button", name="Ask", exact=True))
    page.keyboard.press("Enter")

    card = page.locator(".card", has=page.get_by_role("heading", name="Two more, three inside"))
    expect(card).to_contain_text("2 more helpers, Sat and Sun 10:00–17:00")
    expect(card).to_contain_text("wire: 3 people at once")
    expect(card).to_contain_text("Being worked out")
    assert not faults(page)

    answer_all(known)
    wait(page)
    beside = page.get_by_role("region", name="Finish, chance and hours beside today")
    expect(beside.get_by_role("rowheader", name="Two more, three inside")).to_be_visible(timeout=SOON)
    expect(beside.get_by_role("rowheader", name="Today")).to_be_visible()
    expect(card).not_to_contain_text("Being worked out")
    asked = known.questions.what_ifs().get()
    assert [part["count"] for part in asked.asks["more"]] == [2] and asked.asks["people"] == {"wire": 3}


def test_what_it_takes_is_asked_and_answered_while_one_looks_on(known, lead, open_page):
    page = open_page(lead, "/b/SHED/forecast/what-if/", own_clock=True, **PHONE)
    tab_to(page, page.get_by_label("What would it take to be ready by"))
    page.keyboard.press("Control+a")
    page.keyboard.type("90")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Being worked out")).to_be_visible()
    answer_all(known)
    wait(page)
    expect(page.locator(".takes")).to_be_visible(timeout=SOON)
    expect(page.locator("#asked")).to_contain_text("Asked for 90 % sure")
    assert not faults(page)


def test_what_nobody_can_answer_is_refused_with_the_reason(known, lead, other_helper, open_page):
    page = open_page(lead, "/b/SHED/forecast/what-if/ask/", own_clock=True, **PHONE)
    page.get_by_label("Name", exact=True).fill("Without Noor")
    page.get_by_label("Noor").last.check()
    page.get_by_role("button", name="Ask", exact=True).click()
    crew.leave(person=other_helper, by=lead, now=timezone.now())
    forecasting.refresh(known, timezone.now() + timedelta(minutes=1))
    answer_all(known)
    wait(page)
    expect(page.locator(".refused")).to_contain_text("Noor", timeout=SOON)
    assert not faults(page)


def test_a_question_without_a_name_or_a_change_comes_back_with_what_is_missing(known, lead, open_page):
    page = open_page(lead, "/b/SHED/forecast/what-if/ask/", **PHONE)
    page.get_by_label("Name", exact=True).fill("Nothing")
    page.get_by_label("How many").first.fill("2")
    page.get_by_role("button", name="Ask", exact=True).click()
    expect(page.locator(".errorlist").first).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Nothing")
    assert not known.questions.what_ifs().exists()
    assert not faults(page)


def test_the_day_plan_of_one_helper_is_asked_for_with_the_keyboard(known, lead, open_page):
    answer_all(known)
    page = open_page(lead, "/b/SHED/forecast/day-plan/")
    expect(page.get_by_role("heading", level=3)).to_have_count(2)
    tab_to(page, page.get_by_label("Day", exact=True))
    page.keyboard.type("all")
    tab_to(page, page.get_by_label("Who", exact=True))
    page.keyboard.type("Noor")
    tab_to(page, page.get_by_role("button", name="Show"))
    page.keyboard.press("Enter")
    page.wait_for_url("**helper=Noor**")
    expect(page.get_by_role("heading", level=3).first).to_have_text("Noor")
    assert set(page.get_by_role("heading", level=3).all_inner_texts()) == {"Noor"}
    assert page.get_by_role("heading", level=2).count() >= 1


def test_the_day_plan_on_paper_leaves_out_what_is_pressed(known, lead, open_page):
    answer_all(known)
    page = open_page(lead, "/b/SHED/forecast/day-plan/")
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", level=1)).to_have_text("Day plan of Shed of SHED")
    for gone in (page.locator("header"), page.get_by_role("button"), page.locator("select")):
        assert not any(one.is_visible() for one in gone.all())
    expect(page.get_by_role("heading", level=3).first).to_be_visible()


def test_a_forecast_grows_old_on_a_screen_that_stays_open(known, lead, open_page):
    page = open_page(lead, "/b/SHED/forecast/", own_clock=True, **PHONE)
    age = page.locator("time[data-age]")
    expect(age).to_have_text("just now")
    page.clock.fast_forward("10:30")
    expect(age).to_have_text("10 minutes ago")
    page.clock.fast_forward("03:00:00")
    expect(age).to_have_text("3 hours ago")


def test_a_finished_build_is_not_forecast_any_more(shed, helper, lead, open_page):
    now = timezone.now() - timedelta(days=1)
    for segment in shed.segments.filter(closing=False):
        work_through(segment, order_of(False)[-1], by=helper, at=now)
    closing.confirm(build=shed, by=lead, now=now, nobody_inside=True, tools_out=True, power_isolated=True)
    for segment in shed.segments.filter(closing=True):
        work_through(segment, order_of(True)[-1], by=helper, at=now)
    forecasting.refresh(shed, timezone.now())
    page = open_page(lead, "/b/SHED/forecast/", **PHONE)
    expect(page.locator(".sentence")).to_contain_text("Everything is done")
    expect(page.get_by_role("heading", name="Ready by")).to_have_count(0)
    assert not faults(page)
