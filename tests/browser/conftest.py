"""A browser that reaches the app as a tablet on the site does: by a name, over plain http.

`site` is the address of a live server; `open_device` opens a device of its own (cookies, storage,
screen size); `page` is one tablet. Every page fails its test at the end when it broke the content
security policy or a script raised.
"""

import os
import shutil
from collections.abc import Callable, Iterator

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from tests.people import client_of, give_device

# The driver runs an event loop in this thread; the tests still reach the database directly.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

HOST = "barn.test"
TABLET = {"width": 820, "height": 1180}
FLAGS = [
    f"--host-resolver-rules=MAP {HOST} 127.0.0.1",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def find_chromium() -> str | None:
    """The system's own, best without windows, or None for the one that the driver brought along."""
    return next(filter(None, map(shutil.which, ("chromium-headless-shell", "chromium", "chromium-browser"))), None)


@pytest.fixture(scope="session")
def driver() -> Iterator[Playwright]:
    """One for the whole session: a thread holds no second one."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def chromium(driver: Playwright) -> Iterator[Browser]:
    browser = driver.chromium.launch(executable_path=find_chromium(), args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def site(live_server) -> str:
    """Where the app is served: a name that browsers do not trust, unlike 127.0.0.1."""
    port = live_server.url.rpartition(":")[2]
    return f"http://{HOST}:{port}"


@pytest.fixture
def open_device(chromium: Browser, site: str) -> Iterator[Callable[..., BrowserContext]]:
    """Call it for one more device: `open_device(width=360, height=740)`; other options as the driver has."""
    devices: list[BrowserContext] = []
    troubles: list[str] = []

    def open_one(width: int = TABLET["width"], height: int = TABLET["height"], **options) -> BrowserContext:
        device = chromium.new_context(
            base_url=site, viewport={"width": width, "height": height}, locale="en-GB", **options
        )
        device.set_default_timeout(10_000)
        device.set_default_navigation_timeout(30_000)  # the first page of a process brings the whole app in
        device.on("page", lambda page: watch(page, troubles))
        devices.append(device)
        return device

    yield open_one
    for device in devices:
        device.close()
    assert not troubles, "\n".join(troubles)


@pytest.fixture
def open_page(open_device, site) -> Callable[..., Page]:
    """Call it with a person and an address: the page as that person sees it on a device that joined.

    With ``own_clock`` its time is in the test's hands, see `wait`.
    """

    def opened(person, path="", *, joined=True, own_clock=False, **options) -> Page:
        device = open_device(**options)
        client = client_of(person, give_device(person.build, f"Tablet {timezone.now()}") if joined else None)
        device.add_cookies([{"name": key, "value": one.value, "url": site} for key, one in client.cookies.items()])
        page = device.new_page()
        if own_clock:
            page.clock.install()
        page.goto(path or f"/b/{person.build.code}/today/")
        return page

    return opened


@pytest.fixture
def page(open_device) -> Page:
    return open_device().new_page()


def wait(page: Page, seconds: float = 6) -> None:
    """Let the page believe that time has passed: what it does every few seconds it does now.

    Its clock has to be in the test's hands since before it was loaded: `page.clock.install()`.
    """
    page.clock.run_for(round(seconds * 1000))


def watch(page: Page, troubles: list[str]) -> None:
    """Note policy violations and script errors of a page; a cut network is no trouble."""

    def heard(message) -> None:
        if "Content Security Policy" in message.text or "Content-Security-Policy" in message.text:
            troubles.append(f"{page.url}: {message.text}")

    page.on("console", heard)
    page.on("pageerror", lambda error: troubles.append(f"{page.url}: {error}"))
