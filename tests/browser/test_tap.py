"""A tap shows at once: the page changes while the request is still on its way, on every screen that takes ticks."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.people import give

PHONE = {"width": 360, "height": 740}


@pytest.fixture(autouse=True)
def rows(transactional_db):
    """The live server's thread sees what the test wrote."""


def hold(page: Page) -> None:
    """From here on the network lets nothing through, and nobody is told."""
    page.context.route("**/entries/", lambda route: None)


def on_today(page: Page) -> None:
    page.get_by_role("button", name="+10", exact=True).click()
    expect(page.locator("[data-shows=count]")).to_have_text("10")
    expect(page.locator("[data-undo]")).to_contain_text("R1-1: 10 pixels populated.")


def on_the_segment(page: Page) -> None:
    page.get_by_label(re.compile("^Pixels")).fill("10")
    page.get_by_role("button", name="Mark populated").click()
    expect(page.locator('#piece [data-stage="populate"] .count')).to_have_text(re.compile("^10 of"))


def on_the_map(page: Page) -> None:
    page.locator('.piece[data-code="R1-1"]').click()
    on_the_segment(page)


SCREENS = {"today": ("today/", on_today), "segment": ("segments/R1-1/", on_the_segment), "map": ("sphere/", on_the_map)}


@pytest.mark.parametrize("address, tap", SCREENS.values(), ids=SCREENS)
def test_a_tap_shows_while_the_network_still_holds_it(
    shed, helper, open_page, address: str, tap: Callable[[Page], None]
):
    give(shed, helper, "R1-1")
    page = open_page(helper, f"/b/SHED/{address}", **PHONE)
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent")
    hold(page)
    tap(page)
    expect(page.locator("[data-outbox-word]")).to_have_text(re.compile("1 waiting$"))
    assert not shed.entries.exists(), "the server has not heard of it"
    page.context.unroute_all(behavior="ignoreErrors")  # the outbox runs out of patience and sends it again
    expect(page.locator("[data-outbox-word]")).to_have_text("All sent", timeout=30_000)
    assert shed.entries.get().pixels == 10
