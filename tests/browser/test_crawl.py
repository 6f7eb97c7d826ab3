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
from buildlog.core.forecast.questions.request import WhatIfRequest
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
    "plan_table", "supplies_table", "pack", "print_labels_chosen", "assignments_take", "assignments_undo",
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
    join_crew(shed, "Wilhelmina-Charlotte van der Veen-Zuiderduin")
    crew.leave(person=join_crew(shed, "Maximiliane-Friederike Freifrau zu Guttendorf-Weyer"), by=lead, now=now)
    _ask(shed, now)
    return shed


def _ask(build, now) -> None:
    """A forecast; questions to it that are answered, that cannot be, and one that waits; a day plan."""
    forecasting.refresh(build, now)
    questions.what_if(build=build, request=WhatIfRequest(name="Three inside", people=(("wire", 3),)), now=now)
    questions.what_it_takes(build=build, percent=80, now=now)
    while answering.answer_next(build, now) is not None:
        pass
    refused = questions.what_if(build=build, request=WhatIfRequest(name="Without Noor", without=("Noor",)), now=now)
    questions.keep(question=refused, now=now, refusal="Nobody of this name counts any more: choose another.")
    questions.what_if(build=build, request=WhatIfRequest(name="Nothing fails", rework=False), now=now)


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


# What there is to see and to press, in the main part of a page and around it: elements with their classes, states and
# kinds, and words. Not in it: where links and forms lead, what forms hide, who is signed in, where one stands.
LIKENESS = r"""() => {
  const unseen = /^(href|action|hx-.*|aria-current|data-(actor|device|address|who))$/;
  const told = (node) => {
    if (node.nodeType === Node.TEXT_NODE) return node.data.trim();
    if (node.nodeType !== Node.ELEMENT_NODE || node.matches('script, input[type=hidden]')) return '';
    const attributes = [...node.attributes].map((one) => one.name + (unseen.test(one.name) ? '' : `="${one.value}"`));
    return `<${node.localName} ${attributes.join(' ')}>${[...node.childNodes].map(told).join('')}</>`;
  };
  const main = document.querySelector('main'), parts = [told(main)];
  main.replaceWith(main.cloneNode());
  parts.push(told(document.body));
  document.querySelector('main').replaceWith(main);
  return parts;
}"""


def faults_by_day_and_night(page: Page) -> list[str]:
    """With all that is folded open, for what is inside counts too; dark is another set of colours, nothing else."""
    page.evaluate("for (const fold of document.querySelectorAll('details.fold')) fold.open = true")
    page.emulate_media(color_scheme="light", reduced_motion="reduce")  # no colour is still on its way when it is read
    said = faults(page)
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    return said + [f"dark: {one}" for one in serious_faults(page, "color-contrast")]


def walk(page: Page, seen: set[int], *begin: str) -> set[str]:
    """Look at every screen that is not like one ``seen`` already; gives the names of the addresses of all."""
    names, said = set(), []
    for kind in screens(page, *begin):
        names.add(kind[0])
        if new := {hash(part) for part in page.evaluate(LIKENESS)} - seen:
            seen |= new
            said += [f"{page.url}: {one}" for one in faults_by_day_and_night(page)]
    assert not said, "\n".join(said)
    return names


def test_all_that_a_crew_sees_fits_a_phone_and_every_screen_is_found(busy, lead, helper, viewer, open_page):
    seen: set[int] = set()
    label = busy.segments.get(code="R2-1").label
    by_lead = walk(open_page(lead, **PHONE), seen, "/", "/b/SHED/sphere/")
    by_helper = walk(open_page(helper, **PHONE), seen, "/b/SHED/today/", f"/s/{label}/", "/")
    by_viewer = walk(open_page(viewer, "/b/SHED/sphere/", **PHONE), seen, "/b/SHED/sphere/")
    named = {pattern.name for pattern in BUILD}
    assert not named - by_lead - NO_SCREENS - OF_A_NEWCOMER, "no link leads there"
    assert not by_lead & NO_SCREENS
    assert {"today", "sphere", "hours", "forecast", "what_if", "day_plan", "segment", "stint_correct"} <= by_helper
    assert {"enter", "switch_person"} <= by_helper
    assert {"sphere", "forecast", "day_plan", "plan"} <= by_viewer


def test_a_screen_that_differs_in_anything_to_be_seen_is_looked_at_again(page):
    """Words, states and kinds of field count; where a link leads and what a form hides does not."""
    show = "<main>{}</main>".format
    alike = [
        '<a class="btn" href="/a/">Plan</a><input type="hidden" name="csrf" value="1"><input>',
        '<a class="btn" href="/b/">Plan</a><input type="hidden" name="csrf" value="2"><input>',
    ]
    unlike = [
        alike[0].replace("Plan", "Crew"), alike[0].replace("btn", "link"), alike[0].replace('href="/a/"', ""),
        alike[0].replace("<input>", "<input type=date>"), alike[0].replace("<input>", "<input><input>"),
        alike[0].replace("<a ", "<a data-state=done "),
    ]  # fmt: skip
    parts = []
    for content in (*alike, *unlike):
        page.set_content(show(content))
        parts.append(page.evaluate(LIKENESS)[0])
    assert parts[0] == parts[1] and len(set(parts)) == 1 + len(unlike)


def test_a_build_of_which_nothing_is_there_yet_fits_too(bare, open_page):
    found = walk(open_page(bare.people.get(), **PHONE), set(), "/b/BARE/sphere/")
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
