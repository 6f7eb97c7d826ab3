"""What a secure context adds: Today loads again without a network.

127.0.0.1 counts as secure without a certificate (W3C Secure Contexts, section 3.1), so it stands for https here.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.people import client_of, give, give_device


@pytest.fixture
def page(chromium, live_server, transactional_db, shed, helper):
    give(shed, helper, "R1-1")
    context = chromium.new_context(base_url=live_server.url)
    client = client_of(helper, give_device(shed))
    cookies = [{"name": key, "value": one.value, "url": live_server.url} for key, one in client.cookies.items()]
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto("/b/SHED/today/")
    page.wait_for_function("navigator.serviceWorker.ready.then((found) => Boolean(found.active))")
    page.reload()  # this time through the worker
    page.wait_for_function("Boolean(navigator.serviceWorker.controller)")
    page.reload()
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent")
    yield page
    context.close()


def test_today_loads_again_without_a_network_and_keeps_what_is_entered(page, shed):
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_text("R1-1").first).to_be_visible()
    page.locator("form[data-entry=tick] button").first.click()
    expect(page.locator("[data-outbox-word]")).to_contain_text("1 waiting")
    page.reload()
    expect(page.locator("[data-outbox-word]")).to_contain_text("1 waiting")
    page.context.set_offline(False)
    page.reload()
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent")
    assert shed.segments.get(code="R1-1").populated > 0


def test_the_next_person_does_not_see_the_last_ones_page(page):
    page.evaluate("fetch('/sign-out/', {method: 'POST'})")
    page.wait_for_function("caches.has('pages').then((found) => !found)")
