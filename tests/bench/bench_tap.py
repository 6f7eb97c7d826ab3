"""From the tap to the picture, on a phone four times slower than this machine, with 2 s of network in between.

Measured in the page itself, from the click to the second picture that the browser draws after the change: the first
one that surely shows it. Every tick is written through to the disk of the device before it is shown.
"""

from __future__ import annotations

import os
import statistics
from collections.abc import Iterator
from dataclasses import dataclass

from django.test.utils import (
    setup_databases,
    setup_test_environment,
    teardown_databases,
    teardown_test_environment,
)
from playwright.sync_api import Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests.bench import Figure
from tests.bench.bench_sphere import BALL, half_way
from tests.browser.conftest import FLAGS, HOST, find_chromium
from tests.people import account, begin_build, client_of, give, give_device, join_crew

PHONE = {"width": 360, "height": 740}
TIMES_SLOWER, DELAY_MS, TAPS = 4, 2000, 8
RING = 100  # in the lower half: nothing is done there yet
CODE = f"R{RING}-1"

TAP = """([button, shown]) => new Promise((done, failed) => {
  const reads = () => document.querySelector(shown)?.textContent;
  const before = reads(), begun = performance.now();
  setTimeout(failed, 20000, new Error("the tap never showed"));
  new MutationObserver((_, watcher) => {
    if (reads() === before) return;
    watcher.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun)));
  }).observe(document, { childList: true, characterData: true, subtree: true });
  document.querySelector(button).click();
})"""


@dataclass(frozen=True, slots=True)
class Screen:
    """Where a tick is made: the page, what opens the form there, what is pressed, what has to change."""

    name: str
    address: str
    button: str
    shown: str
    opens: str = ""


TICK, COUNT = "form.tick [name=stage][value=populate] ~ button", '#piece [data-stage="populate"] .count'
SCREENS = (
    Screen("Today", f"today/?piece={CODE}", "[data-own] button", "[data-shows=count]"),
    Screen("the segment's page", f"segments/{CODE}/", TICK, COUNT),
    Screen("the map", f"sphere/?ring={RING}", TICK, COUNT, opens=f'.piece[data-code="{CODE}"]'),
)


def figures() -> Iterator[Figure]:
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # the driver's event loop runs in this thread
    setup_test_environment()
    names = setup_databases(verbosity=0, interactive=False)
    server = LiveServer("127.0.0.1")
    try:
        yield from _on_a_phone(server.url.rpartition(":")[2])
    finally:
        server.stop()
        teardown_databases(names, verbosity=0)
        teardown_test_environment()


def _on_a_phone(port: str) -> Iterator[Figure]:
    build = begin_build("NORTH", account("Ilse"), ball=BALL)
    half_way(build)
    marek = join_crew(build, "Marek")
    give(build, marek, CODE)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=FLAGS)
        for screen in SCREENS:
            site = f"http://{HOST}:{port}"
            context = browser.new_context(base_url=site, viewport=PHONE, has_touch=True, is_mobile=True)
            cookies = client_of(marek, give_device(build, f"Phone for {screen.name}")).cookies
            context.add_cookies([{"name": key, "value": one.value, "url": site} for key, one in cookies.items()])
            took = _taps(context.new_page(), screen)
            yield Figure(f"tap to picture on {screen.name}, half of them within", statistics.median(took), "ms")
            yield Figure(f"tap to picture on {screen.name}, all {TAPS} within", max(took), "ms")
            context.close()
        browser.close()


def _taps(page: Page, screen: Screen) -> list[float]:
    page.goto(f"/b/NORTH/{screen.address}")
    if screen.opens:
        page.locator(screen.opens).click()
    page.wait_for_selector(screen.button)
    phone = page.context.new_cdp_session(page)
    phone.send("Emulation.setCPUThrottlingRate", {"rate": TIMES_SLOWER})
    phone.send("Network.enable")
    slow = {"offline": False, "latency": DELAY_MS, "downloadThroughput": -1, "uploadThroughput": -1}
    phone.send("Network.emulateNetworkConditions", slow)
    return [_tap(page, screen) for _ in range(TAPS)]


def _tap(page: Page, screen: Screen) -> float:
    """One pixel, while what was tapped before may still be on its way."""
    page.wait_for_timeout(300)
    field = page.locator(screen.button).locator("xpath=ancestor::form").locator("[name=pixels]")
    field.evaluate("field => { field.value = '1' }")
    return page.evaluate(TAP, [screen.button, screen.shown])
