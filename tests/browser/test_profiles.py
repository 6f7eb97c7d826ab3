"""Three browsers of their own, dozens of ticks each, while networks go, pages reload, browsers and server are killed.

What a tablet has shown must be on file in the end, once. A tick is counted here from the moment it is shown.
"""

from __future__ import annotations

import contextlib
import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from django.conf import settings
from django.db import connection
from playwright.sync_api import BrowserContext, Error, Page, Playwright

from buildlog.models import Arrival, LedgerEntry
from tests.browser.conftest import FLAGS, HOST, find_chromium
from tests.floor.faults import ServerGroup
from tests.floor.workday import address_of_test_database
from tests.people import client_of, give_device, join_crew

PRESS = """() => new Promise((shown) => {
    document.addEventListener("buildlog:entry", function one({ detail }) {
        if (detail.state !== "waiting") return;
        document.removeEventListener("buildlog:entry", one);
        shown(detail.entry.id);
    });
    document.querySelector("button[value='1']").click();
})"""


class Profile:
    """A browser with a disk of its own that can be killed and started again."""

    def __init__(self, driver: Playwright, folder: Path, site: str, cookies: list[dict], chance: Random) -> None:
        self.driver, self.folder, self.site, self.cookies, self.chance = driver, folder, site, cookies, chance
        self.shown: list[str] = []
        self.offline = False
        self.deaths = 0
        self.open()

    def open(self) -> None:
        self.context: BrowserContext = self.driver.chromium.launch_persistent_context(
            self.folder, executable_path=find_chromium(), args=FLAGS, headless=True
        )
        self.context.set_default_timeout(15_000)
        self.context.add_cookies(self.cookies)
        self.offline = False
        self.page: Page = self.context.new_page()
        self.load()

    def load(self) -> None:
        """Until the page is there: on plain http it needs the server."""
        for _ in range(100):
            with contextlib.suppress(Error):
                self.page.goto(f"{self.site}/b/SHED/bench/")
                self.page.wait_for_selector("[data-outbox]:not([hidden])")
                return
            time.sleep(0.2)
        raise AssertionError("the page never came")

    def kill(self) -> None:
        """Every process of this browser at once, as when the battery is empty."""
        for pid in processes_of(self.folder):
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.deaths += 1
        with contextlib.suppress(Error):
            self.context.close()
        (self.folder / "SingletonLock").unlink(missing_ok=True)
        self.open()

    def toggle(self) -> None:
        self.offline = not self.offline
        self.context.set_offline(self.offline)

    def press(self) -> None:
        self.shown.append(self.page.evaluate(PRESS))


def processes_of(folder: Path) -> list[int]:
    """Those whose command line names this folder, which is ours alone."""
    found = []
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError):
            if entry.name.isdigit() and str(folder).encode() in (entry / "cmdline").read_bytes():
                found.append(int(entry.name))
    return found


@pytest.fixture
def group(transactional_db) -> Iterator[ServerGroup]:
    environment = {
        "DATABASE_URL": address_of_test_database(),
        "BUILDLOG_DATA": str(settings.DATA_DIR),
        "FLOOR_ADDRESSES": "tests.browser.bench_page",
    }
    found = ServerGroup(environment)
    found.start()
    yield found
    found.close()


def cookies_for(build, name: str, site: str) -> list[dict]:
    client = client_of(join_crew(build, name), give_device(build, f"Tablet of {name}"))
    return [{"name": key, "value": one.value, "url": site} for key, one in client.cookies.items()]


def mishap(profile: Profile, group: ServerGroup, chance: Random) -> None:
    drawn = chance.random()
    if drawn < 0.10:
        profile.toggle()
    elif drawn < 0.14 and not profile.offline:
        profile.load()
    elif drawn < 0.16 and not profile.offline:
        profile.kill()
    elif drawn < 0.18:
        group.kill()
        group.start()


@pytest.mark.parametrize(("ticks", "seed"), [(24, 15), pytest.param(80, 5, marks=pytest.mark.long)])
def test_what_three_browsers_showed_is_on_file_once(shed, group, driver, tmp_path, ticks, seed):
    shed.segments.update(pixels=100_000)
    site, chance = f"http://{HOST}:{group.port}", Random(seed)
    names = ("Ada", "Bo", "Cem")
    cookies = [cookies_for(shed, name, site) for name in names]
    connection.close()
    profiles = [Profile(driver, tmp_path / name, site, held, chance) for name, held in zip(names, cookies, strict=True)]
    for _ in range(ticks):
        for profile in profiles:
            mishap(profile, group, chance)
            profile.press()
    profiles[0].kill()
    for profile in profiles:
        if profile.offline:
            profile.toggle()
        profile.load()
    shown = [i for profile in profiles for i in profile.shown]
    wait_for(len(shown))
    for profile in profiles:
        profile.page.get_by_text("All sent", exact=True).wait_for()
        profile.context.close()
    assert len(set(shown)) == 3 * ticks
    assert sorted(str(pk) for pk in LedgerEntry.objects.values_list("pk", flat=True)) == sorted(shown)
    assert shed.segments.get(code="R1-1").populated == 3 * ticks
    assert not Arrival.objects.filter(outcome="refused").exists()
    for device in shed.devices.all():
        numbers = device.arrivals.order_by("sequence").values_list("sequence", flat=True)
        assert list(numbers) == list(range(1, ticks + 1))
    assert sum(profile.deaths for profile in profiles) >= 2 and group.kills >= 1


def wait_for(number: int, seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while LedgerEntry.objects.count() < number and time.monotonic() < end:
        time.sleep(0.2)
