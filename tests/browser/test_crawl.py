"""Every screen on a phone, found by walking links as a lead, a helper and a viewer walk them: room for a finger, no
sideways scroll, all by keyboard, no serious fault, in the light theme and in the dark one. A page that breaks the
content security policy fails by itself. A screen that no link leads to is a fault too: nobody would find it.
"""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from django.utils import timezone
from playwright.sync_api import Error, Page

from buildlog.actions import builds
from buildlog.urls import BUILD
from tests.browser.looks import faults, serious_faults
from tests.pages import NO_SCREENS, NOT_OF_A_LEAD, kind_of
from tests.people import ZONE, account

PHONE = {"width": 360, "height": 740}


@pytest.fixture
def bare(db):
    """A build of which nothing is there yet but its name."""
    return builds.begin(code="BARE", name="Bare shed", time_zone=ZONE, now=timezone.now(), lead=account("Ilse"))


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
    assert not named - by_lead - NO_SCREENS - NOT_OF_A_LEAD, "no link leads there"
    assert not by_lead & NO_SCREENS
    assert {"today", "sphere", "hours", "forecast", "what_if", "day_plan", "segment", "stint_correct"} <= by_helper
    assert {"enter", "switch_person", "me"} <= by_helper
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
