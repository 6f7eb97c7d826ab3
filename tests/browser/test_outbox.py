"""The outbox in a real browser on plain http: written down first, shown at once, sent once, in order, kept until
the server has answered."""

from __future__ import annotations

import json
import re
import threading
import time
from collections.abc import Callable
from types import SimpleNamespace

import pytest
from django.test import override_settings
from django.utils import timezone
from playwright.sync_api import Page, expect

from buildlog.actions import arrivals, devices
from buildlog.models import Arrival, LedgerEntry, Stint
from tests.browser.conftest import wait
from tests.people import give_device

# How long the outbox waits for an answer is the one time that the browser's clock measures behind a page's own.
PATIENCE = """AbortSignal.timeout = (milliseconds) => {
    const patience = new AbortController();
    setTimeout(() => patience.abort(), milliseconds);
    return patience.signal;
}"""


@pytest.fixture(autouse=True)
def addresses(transactional_db):
    with override_settings(ROOT_URLCONF="tests.browser.bench_page"):
        yield


@pytest.fixture
def tablet(open_device, site, shed, helper, sign_in):
    """A tablet on which Marek is signed in."""
    held = give_device(shed)
    client = sign_in(helper, held)
    context = open_device()
    context.add_cookies([{"name": k, "value": m.value, "url": site} for k, m in client.cookies.items()])
    context.device_row = held[0]
    return context


@pytest.fixture
def bench_page(tablet) -> Page:
    page = tablet.new_page()
    page.goto("/b/SHED/bench/")
    expect(word(page)).to_have_text("All sent")
    return page


def word(page: Page):
    return page.locator("[data-outbox-word]")


def press(page: Page, name: str = "+1", times: int = 1) -> None:
    for _ in range(times):
        page.get_by_role("button", name=name, exact=True).click()


def held(page: Page) -> list[dict]:
    return page.evaluate(
        """() => new Promise((done) => {
            const asked = indexedDB.open("outbox");
            asked.onsuccess = () => {
                const all = asked.result.transaction("entries").objectStore("entries").getAll();
                all.onsuccess = () => { asked.result.close(); done(all.result); };
            };
        })"""
    )


def wait_until(true: Callable[[], bool], seconds: float = 10) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come true"
        time.sleep(0.05)


def pixels() -> list[int]:
    return list(LedgerEntry.objects.order_by("at").values_list("pixels", flat=True))


def test_a_tick_is_written_down_shown_and_stored(bench_page, helper):
    press(bench_page, "Own number")
    wait_until(lambda: pixels() == [3])
    expect(word(bench_page)).to_have_text("All sent")
    assert [entry["state"] for entry in held(bench_page)] == ["stored"]
    assert LedgerEntry.objects.get().actor == helper


def test_what_waits_survives_a_reload_and_is_sent_in_order(bench_page, tablet):
    tablet.route("**/entries/", lambda route: route.abort())
    press(bench_page, times=3)
    press(bench_page, "Leave note")
    expect(word(bench_page)).to_have_text(re.compile(r"Offline since \d\d:\d\d, 4 waiting"))
    bench_page.reload()
    expect(word(bench_page)).to_contain_text("4 waiting")
    tablet.unroute("**/entries/")
    wait_until(lambda: Arrival.objects.count() == 4)
    expect(word(bench_page)).to_have_text("All sent")
    assert list(Arrival.objects.order_by("sequence").values_list("sequence", "kind")) == [
        (1, "tick"), (2, "tick"), (3, "tick"), (4, "note"),
    ]  # fmt: skip


def test_an_answer_that_comes_too_late_does_no_harm(bench_page, monkeypatch):
    """The server has stored the entry, the tablet has given up waiting and sends it again."""
    answered, twice = [], threading.Event()

    def slow(**what):
        answers = arrivals.receive(**what)
        answered.extend(answers)
        if len(answered) > 1:
            twice.set()
        elif answers:
            twice.wait(30)
        return answers

    monkeypatch.setattr("buildlog.views.entries.arrivals", SimpleNamespace(receive=slow))
    bench_page.clock.install()
    bench_page.add_init_script(PATIENCE)
    bench_page.reload()
    press(bench_page)
    wait_until(lambda: len(answered) == 1)
    wait(bench_page)
    wait_until(lambda: len(answered) == 2, seconds=15)
    expect(word(bench_page)).to_have_text("All sent")
    assert [answer.outcome for answer in answered] == ["stored", "had"]
    assert pixels() == [1]


def test_a_refused_entry_waits_for_a_decision_and_holds_up_nothing(bench_page):
    press(bench_page, "Far too many")
    press(bench_page)
    expect(word(bench_page)).to_have_text("1 refused")
    wait_until(lambda: pixels() == [1])
    bench_page.locator("details.outbox > summary").click()
    item = bench_page.locator("[data-outbox-list] li[data-state=refused]")
    expect(item).to_contain_text("999 pixels are more than R1-1 has left")
    bench_page.reload()
    expect(word(bench_page)).to_have_text("1 refused")
    bench_page.locator("details.outbox > summary").click()
    item.get_by_role("button", name="Drop it").click()
    expect(word(bench_page)).to_have_text("All sent")


def test_a_refused_entry_can_be_entered_again_under_a_new_id(bench_page, shed):
    press(bench_page, "Far too many")
    expect(word(bench_page)).to_have_text("1 refused")
    shed.segments.filter(code="R1-1").update(pixels=2_000)
    bench_page.locator("details.outbox > summary").click()
    bench_page.get_by_role("button", name="Enter it again").click()
    wait_until(lambda: pixels() == [999])
    assert Arrival.objects.count() == 2


def test_a_tick_goes_to_the_stint_begun_before_it_on_the_tablet(bench_page, tablet):
    tablet.route("**/entries/", lambda route: route.abort())
    press(bench_page, "Start")
    press(bench_page)
    expect(word(bench_page)).to_contain_text("2 waiting")
    tablet.unroute("**/entries/")
    wait_until(lambda: pixels() == [1])
    assert LedgerEntry.objects.get().stint == Stint.objects.get()


def test_two_tabs_share_one_outbox_and_send_once(tablet, bench_page):
    happened = []
    for event in ("request", "response", "requestfailed"):
        tablet.on(event, lambda one, event=event: happened.append((event, one)) if "/entries/" in one.url else None)
    other = tablet.new_page()
    other.goto("/b/SHED/bench/")
    for tab in (bench_page, other):
        tab.evaluate("AbortSignal.timeout = () => new AbortController().signal")  # a busy machine is not a fault
    for _ in range(5):
        press(bench_page)
        press(other)
    wait_until(lambda: sum(pixels()) == 10)
    expect(word(bench_page)).to_have_text("All sent")
    expect(word(other)).to_have_text("All sent")
    assert answered_once_each(happened) == 10
    assert sorted(entry["sequence"] for entry in held(other)) == list(range(1, 11))


def answered_once_each(happened) -> int:
    """How many entries were answered; none was sent while it was on the way, and none again once it was answered.

    A request that broke off may go out again.
    """
    on_the_way, answered = {}, set()
    for event, one in happened:
        if event == "request":
            ids = {entry["id"] for entry in json.loads(one.post_data)["entries"]}
            assert not ids & answered and not any(ids & others for others in on_the_way.values())
            on_the_way[one] = ids
        elif event == "requestfailed":
            on_the_way.pop(one, None)
        elif on_the_way.pop(one.request, None) and one.ok:
            answered |= {result["id"] for result in one.json()["results"]}
    return len(answered)


@pytest.mark.parametrize(("later_ms", "gets_it"), [(-20, False), (20, False), (9_000, True), (-60_000, True)])
def test_a_turn_is_one_tab_s_until_it_is_over_or_the_clock_was_set_back(bench_page, later_ms, gets_it):
    """Two tabs read the clock before they wait for the store: the second to get there may have read it first."""
    turns = """async (later) => {
        const { takeTurn } = await import("/static/js/outbox-store.js");
        return [await takeTurn("one", 1e12), await takeTurn("other", 1e12 + later)];
    }"""
    assert bench_page.evaluate(turns, later_ms) == [True, gets_it]


def test_a_tab_that_dies_with_its_turn_is_followed_by_another(tablet, bench_page):
    tablet.route("**/entries/", lambda route: None)  # never answered: the first tab holds the turn
    press(bench_page)
    other = tablet.new_page()
    other.goto("/b/SHED/bench/")
    bench_page.evaluate("window.stop()")
    bench_page.close(run_before_unload=False)
    tablet.unroute_all(behavior="ignoreErrors")
    wait_until(lambda: pixels() == [1], seconds=20)


def test_who_made_it_stays_when_the_sign_in_ends_and_another_signs_in(
    tablet, bench_page, other_helper, helper, site, sign_in, shed
):
    tablet.route("**/entries/", lambda route: route.abort())
    press(bench_page)
    expect(word(bench_page)).to_contain_text("1 waiting")
    key = next(c["value"] for c in tablet.cookies() if c["name"] == "device-SHED")
    tablet.clear_cookies(name="sessionid")
    bench_page.reload()  # signed out: the page asks who it is
    cookies = sign_in(other_helper, (tablet.device_row, key)).cookies
    tablet.add_cookies([{"name": "sessionid", "value": cookies["sessionid"].value, "url": site}])
    tablet.unroute("**/entries/")
    bench_page.goto("/b/SHED/bench/")
    press(bench_page)
    wait_until(lambda: LedgerEntry.objects.count() == 2)
    assert [entry.actor for entry in LedgerEntry.objects.order_by("at")] == [helper, other_helper]


def test_a_revoked_tablet_learns_it_entry_by_entry(bench_page, tablet, lead):
    devices.revoke(device=tablet.device_row, by=lead, now=timezone.now())
    press(bench_page)
    expect(word(bench_page)).to_have_text("1 refused")
    assert "taken off the build" in held(bench_page)[0]["reason"]


def test_without_a_place_to_keep_entries_the_form_goes_to_the_server(open_device, site, shed, helper, sign_in):
    context = open_device()
    context.add_init_script("delete window.indexedDB; Object.defineProperty(window, 'indexedDB', {value: undefined})")
    client = sign_in(helper)
    context.add_cookies([{"name": k, "value": m.value, "url": site} for k, m in client.cookies.items()])
    page = context.new_page()
    page.goto("/b/SHED/bench/")
    with page.expect_request("**/bench/plain/") as asked:
        press(page)
    assert "pixels=1" in asked.value.post_data
