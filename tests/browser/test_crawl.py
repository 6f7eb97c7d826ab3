"""Every screen on a phone, found by walking links as a lead, a helper and a viewer walk them: room for a finger, no
sideways scroll, all by keyboard, no serious fault, in the light theme and in the dark one. A page that breaks the
content security policy fails by itself. A screen that no link leads to is a fault too: nobody would find it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from django.urls import resolve
from django.utils import timezone
from playwright.sync_api import Error, Page

from buildlog import answering, forecasting
from buildlog.actions import builds, crew, jobs, questions, stints
from buildlog.core.forecast.questions.request import Wish
from buildlog.core.work.stages import Stage
from buildlog.models import Note
from buildlog.urls import BUILD
from tests.browser.looks import faults, serious_faults
from tests.people import ZONE, account, give, join_crew, start_stint, work_through

PHONE = {"width": 360, "height": 740}
# Addresses that are no screens: acts, downloads, what other pages bring in by themselves, what is behind a button.
NO_SCREENS = {
    "today_entry", "entries", "assign", "assign_undo", "tick", "reopen", "note_settle", "stint_confirm",
    "device_rename", "device_revoke", "device_unlock", "device_invite", "join_here", "crew_shift_add",
    "crew_shift_drop", "crew_pattern_add", "crew_pattern_drop", "crew_pin", "crew_unlock", "crew_account",
    "crew_leave", "closing_confirm", "closing_override", "closing_withdraw", "forecast_compute", "what_if_drop",
    "what_it_takes", "job_done", "plan_preview", "plan_keep", "plan_rings", "plan_freeze", "plan_unfreeze",
    "plan_table", "supplies_table", "pack", "print_labels_chosen", "handout_take", "handout_undo",
}  # fmt: skip
OF_A_NEWCOMER = {"join"}  # of a device that has not joined: see test_join


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 20)


@pytest.fixture
def busy(shed, helper, other_helper, viewer, lead):
    """A build in the middle of things, so that every screen has something to show."""
    now = timezone.now()
    for day in range(40):
        helper.shifts.create(starts_at=now + timedelta(days=day, hours=1), ends_at=now + timedelta(days=day, hours=3))
    builds.describe(build=shed, by=lead, now=now, target_at=now + timedelta(days=9))
    jobs.put(build=shed, name="Controller box", hours=(1, 2, 3), hands=1)
    give(shed, helper, "R1-1", "R2-1", "R4-1")
    work_through(shed.segments.get(code="R4-1"), Stage.WIRE, by=other_helper, at=now - timedelta(hours=30))
    Note.objects.create(build=shed, segment=shed.segments.get(code="R1-1"), by=helper, at=now, says="Torn.")
    start_stint(helper, segment=shed.segments.get(code="R1-1"), at=now - timedelta(hours=20))
    stints.close_forgotten(build=shed, now=now)
    crew.leave(person=join_crew(shed, "Wilhelmina-Charlotte van der Veen-Zuiderduin"), by=lead, now=now)
    _ask(shed, now)
    return shed


def _ask(build, now) -> None:
    """A forecast; questions to it that are answered, that cannot be, and one that waits; a day plan."""
    forecasting.refresh(build, now)
    questions.what_if(build=build, wish=Wish(name="Three inside", people=(("wire", 3),)), now=now)
    questions.what_it_takes(build=build, percent=80, now=now)
    while answering.answer_next(build, now) is not None:
        pass
    refused = questions.what_if(build=build, wish=Wish(name="Without Noor", without=("Noor",)), now=now)
    questions.keep(question=refused, now=now, refusal="Nobody of this name counts any more: choose another.")
    questions.what_if(build=build, wish=Wish(name="Nothing fails", rework=False), now=now)


@pytest.fixture
def bare(db):
    """A build of which nothing is there yet but its name."""
    return builds.begin(code="BARE", name="Bare shed", time_zone=ZONE, now=timezone.now(), lead=account("Ilse"))


def kind_of(address: str) -> tuple[str, ...]:
    """What makes two addresses the same screen: the view and the names of what is asked of it."""
    parts = urlsplit(address)
    asked = sorted(re.findall(r"(?:^|&)(\w+)=", parts.query))
    return resolve(parts.path).url_name or parts.path, *asked


def links(page: Page) -> list[str]:
    """Where the page's links lead on this site."""
    found = page.eval_on_selector_all("a[href]", "all => all.map((one) => one.href)")
    here = urlsplit(page.url).netloc
    return [urlsplit(one)._replace(scheme="", netloc="", fragment="").geturl() for one in found if here in one]


def opens(page: Page, address: str) -> bool:
    """False for what is taken as a file."""
    try:
        answer = page.goto(address)
    except Error as error:
        if "Download is starting" in str(error) or "ERR_ABORTED" in str(error):
            return False
        raise
    assert answer and answer.status == 200, f"{address}: {answer and answer.status}"
    return True


def screens(page: Page, *begin: str) -> Iterator[tuple[str, ...]]:
    """Every screen that links lead to, one of each kind; the page shows it while it is named."""
    waiting, seen = list(begin), set()
    while waiting:
        kind = kind_of(address := waiting.pop(0))
        if kind in seen or kind[0] in NO_SCREENS | {"sign_in"}:
            continue
        seen.add(kind)
        if opens(page, address):
            waiting += links(page)
            yield kind


def faults_by_day_and_night(page: Page) -> list[str]:
    """With all that is folded open, for what is inside counts too; dark is another set of colours, nothing else."""
    page.evaluate("for (const fold of document.querySelectorAll('details.fold')) fold.open = true")
    page.emulate_media(color_scheme="light", reduced_motion="reduce")  # no colour is still on its way when it is read
    said = faults(page)
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    return said + [f"dark: {one}" for one in serious_faults(page, "color-contrast")]


def walk(page: Page, *begin: str) -> set[str]:
    """Look at every screen; gives the names of their addresses."""
    found, said = set(), []
    for kind in screens(page, *begin):
        found.add(kind[0])
        said += [f"{page.url}: {one}" for one in faults_by_day_and_night(page)]
    assert not said, "\n".join(said)
    return found


def test_all_that_a_lead_sees_fits_a_phone_and_every_screen_is_found(busy, lead, open_page):
    found = walk(open_page(lead, **PHONE), "/", "/b/SHED/sphere/")
    named = {pattern.name for pattern in BUILD}
    assert not named - found - NO_SCREENS - OF_A_NEWCOMER, "no link leads there"
    assert not found & NO_SCREENS


def test_all_that_a_helper_sees_fits_a_phone(busy, helper, open_page):
    label = busy.segments.get(code="R2-1").label
    found = walk(open_page(helper, **PHONE), "/b/SHED/today/", f"/s/{label}/", "/")
    assert {"today", "sphere", "hours", "forecast", "what_if", "day_plan", "segment", "enter"} <= found


def test_all_that_a_viewer_sees_fits_a_phone(busy, viewer, open_page):
    assert {"sphere", "forecast", "day_plan", "plan"} & walk(
        open_page(viewer, "/b/SHED/sphere/", **PHONE), "/b/SHED/sphere/"
    )


def test_a_build_of_which_nothing_is_there_yet_fits_too(bare, open_page):
    found = walk(open_page(bare.people.get(), **PHONE), "/b/BARE/sphere/")
    assert {"plan", "crew", "forecast", "supplies", "print"} <= found


# ---- screens behind a button ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "button"),
    [
        ("devices/", "Let a device join"),
        ("crew/", "Issue PIN"),
        ("plan/revise/", "See what changes"),
        ("sphere/", "Assign"),
    ],
)
def test_what_a_button_opens_fits_a_phone(busy, lead, open_page, path, button):
    page = open_page(lead, f"/b/SHED/{path}", **PHONE)
    page.get_by_role("button", name=button).first.click()
    page.wait_for_load_state()
    assert not faults_by_day_and_night(page)
