"""The Plan screen under the fingers of a lead: it recomputes while one types."""

import re

import pytest
from playwright.sync_api import expect

from buildlog.actions import builds, plans
from buildlog.core.plan.parse import read_options
from tests.people import MONDAY, ZONE, account, client_of

BALL = {"diameter": "2m", "pitch": "4cm", "ring_spacing": "50mm", "ribs": "12", "closing_rings": "50-52"}


@pytest.fixture
def pond(live_server):
    build = builds.begin(code="POND", name="Pond", time_zone=ZONE, now=MONDAY, lead=account("Ada"))
    plans.save(build=build, parameters=read_options(BALL), by=None, now=MONDAY)
    return build


@pytest.fixture
def open_plan(pond, open_device, site):
    """Call it with device options: the lead's Plan page."""

    def opened(**options):
        device = open_device(**options)
        cookies = client_of(pond.people.get()).cookies
        device.add_cookies([{"name": key, "value": value.value, "url": site} for key, value in cookies.items()])
        page = device.new_page()
        page.goto("/b/POND/plan/")
        return page

    return opened


def test_figures_and_drawings_follow_what_is_typed(open_plan):
    page = open_plan(width=1440, height=900)
    before = page.locator("#plan-map").inner_html()
    page.get_by_label("Pitch", exact=True).fill("8cm")
    expect(page.locator("#plan-brief")).to_contain_text("Not kept yet")
    assert page.locator("#plan-map").inner_html() != before
    page.get_by_label("Pitch", exact=True).fill("4 cm")
    expect(page.locator("#plan-brief")).not_to_contain_text("Not kept yet")


def test_the_last_of_quick_changes_wins(open_plan):
    page = open_plan()
    page.get_by_label("Diameter", exact=True).press_sequentially("00", delay=10)  # 2 m → "2 m00" on the way
    page.get_by_label("Diameter", exact=True).fill("3m")
    expect(page.locator("#plan-figures")).to_contain_text("3 m across".replace(" m", "\u00a0m"))
    expect(page.locator("#plan-state")).to_be_empty()


def test_wrong_input_is_marked_at_once_and_the_picture_stays(open_plan):
    page = open_plan()
    page.get_by_label("Pitch", exact=True).fill("3 parsecs")
    expect(page.locator("#id_pitch_error")).to_contain_text("is not a length")
    expect(page.locator("#plan-state")).to_contain_text("What is shown below is from before")
    assert page.locator("#plan-map svg").count() == 1
    page.get_by_label("Pitch", exact=True).fill("40mm")
    expect(page.locator("#id_pitch_error")).to_be_empty()


def test_the_ball_turns_and_the_table_changes_without_losing_focus(open_plan):
    page = open_plan()
    side = page.locator("#plan-side").inner_html()
    page.get_by_label("Turn the ball").focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_label("Turn the ball")).to_be_focused()
    page.wait_for_function("before => document.querySelector('#plan-side').innerHTML !== before", arg=side)
    page.get_by_text("Segments", exact=True).click()
    expect(page.locator("#plan-table")).to_contain_text("R1-1")


def test_keeping_and_freezing_end_on_a_plan_that_is_read_only(open_plan):
    page = open_plan()
    page.get_by_label("Longest segment").fill("60")
    page.get_by_role("button", name="Freeze…").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Freeze the plan?")
    page.get_by_role("button", name="Freeze the plan").click()
    expect(page.locator(".lede")).to_contain_text("by Ada")
    assert page.get_by_label("Longest segment").count() == 0


def test_it_also_works_without_script(open_plan):
    page = open_plan(java_script_enabled=False)
    page.get_by_label("Pitch", exact=True).fill("8cm")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_label("Pitch", exact=True)).to_have_value("8cm")
    expect(page.locator("#plan-brief")).to_contain_text("Not kept yet")


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_nothing_sticks_out_and_fingers_hit(open_plan, width):
    page = open_plan(width=width, height=740)
    for fold in page.locator("details.fold > summary").all():
        fold.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        """[...document.querySelectorAll("a, button, input:not([type=hidden], [type=radio]), select, summary")]
        .filter((one) => one.offsetParent && !one.closest(".skip"))
        .filter((one) => { const box = (one.closest("label") || one).getBoundingClientRect();
                           return box.height < 43.5 || box.width < 43.5; })
        .map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert not [one for one in small if not re.match('<a class="(skip|mark)"', one)]
