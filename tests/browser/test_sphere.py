"""The map under fingers and keys, in a real browser on a plain http name."""

import re
import uuid

import pytest
from playwright.sync_api import expect

from buildlog.actions import ticks
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.work.stages import Stage
from tests.browser.conftest import wait
from tests.people import MONDAY, account, begin_build, client_of, join_crew, work_through

# 36 rings of up to 4 pieces: more than one window.
BALL = PlanParameters(diameter_m=1.2, pitch_m=0.03, rings_count=36, top_deg=15, bottom_deg=15, ribs=12, max_segment=40)


@pytest.fixture
def barn(live_server):
    build = begin_build("BARN", account("Ilse"), ball=BALL)
    join_crew(build, "Marek")
    return build


@pytest.fixture
def open_map(barn, open_device, site):
    """Call it with a name of the crew and device options: the Sphere page as that person sees it."""

    def opened(name="Ilse", query="", *, own_clock=False, **options):
        device = open_device(**options)
        cookies = client_of(barn.people.get(name=name)).cookies
        device.add_cookies([{"name": key, "value": value.value, "url": site} for key, value in cookies.items()])
        page = device.new_page()
        if own_clock:
            page.clock.install()
        page.goto(f"/b/BARN/sphere/{query}")
        return page

    return opened


def piece(page, code):
    return page.locator(f'.piece[data-code="{code}"]')


def test_a_tap_opens_the_segment_and_a_tick_shows_on_other_screens(barn, open_map):
    desk, tablet = open_map("Ilse", "?ring=1", own_clock=True), open_map("Marek", "?ring=1")
    piece(tablet, "R2-1").click()
    tablet.get_by_label(re.compile("^Pixels")).fill("7")
    tablet.get_by_role("button", name="Mark populated").click()
    expect(tablet.locator("#messages")).to_contain_text("R2-1: 7 pixels populated.")
    wait(desk)
    expect(piece(desk, "R2-1")).to_have_attribute("aria-label", re.compile("7 populated"), timeout=10_000)


def test_a_refused_count_stays_as_it_was_typed(open_map):
    page = open_map("Marek", "?ring=1")
    piece(page, "R2-1").click()
    page.get_by_label(re.compile("^Pixels")).fill("900")
    page.get_by_role("button", name="Mark populated").click()
    expect(page.get_by_role("alert")).to_contain_text("more than R2-1 has left")
    expect(page.get_by_label(re.compile("^Pixels"))).to_have_value("900")


def test_a_tick_without_network_shows_at_once_and_arrives_later(barn, open_map):
    page = open_map("Marek", "?ring=1")
    piece(page, "R2-1").click()
    field = page.get_by_label(re.compile("^Pixels"))
    expect(field).to_be_visible()
    page.context.set_offline(True)
    field.fill("7")
    page.get_by_role("button", name="Mark populated").click()
    expect(page.locator('#piece [data-stage="populate"]')).to_contain_text("7 of")
    page.context.set_offline(False)
    expect(piece(page, "R2-1")).to_have_attribute("aria-label", re.compile("7 populated"), timeout=25_000)
    assert barn.segments.get(code="R2-1").populated == 7


def test_two_taps_and_all_between_are_handed_out_and_taken_back(barn, open_map):
    page = open_map(query="?ring=10")
    page.get_by_role("button", name="Choose several").click()
    piece(page, "R11-1").click()
    piece(page, "R13-2").click()
    page.get_by_role("button", name="All between").click()
    expect(page.get_by_role("textbox", name="Segments")).to_have_value("R11-1 to R13-2")
    page.locator("#give").get_by_label("Assign to").select_option(label="Marek")
    page.get_by_role("button", name="Assign").click()
    expect(page.locator("#give")).to_contain_text("assigned to Marek")
    expect(piece(page, "R12-1")).to_contain_text("MA")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#give")).to_contain_text("Undone")
    expect(piece(page, "R12-1")).not_to_contain_text("MA")


def test_dragging_over_pieces_chooses_them(open_map):
    page = open_map(query="?ring=10")
    page.get_by_role("button", name="Choose several").click()
    begin, end = (piece(page, code).bounding_box() for code in ("R11-1", "R13-2"))
    page.mouse.move(begin["x"] + 20, begin["y"] + 20)
    page.mouse.down()
    page.mouse.move(end["x"] + 20, end["y"] + 20, steps=8)
    page.mouse.up()
    expect(page.get_by_role("textbox", name="Segments")).to_have_value("R11-1 R11-2 R12-1 R12-2 R13-1 R13-2")
    expect(piece(page, "R12-2")).to_have_attribute("data-chosen", "")


def test_a_tap_on_the_ball_moves_the_window_there(open_map):
    page = open_map(query="?ring=1", width=1440, height=900)
    ball = page.locator(".ball").bounding_box()
    page.mouse.click(ball["x"] + ball["width"] / 2, ball["y"] + ball["height"] / 2)
    expect(page.locator("#window-name")).to_have_text("Rings 15–22")
    assert "ring=15" in page.url


def test_a_piece_that_has_just_come_answers_at_once(open_map):
    page = open_map(query="?ring=10")
    page.evaluate("""document.addEventListener("htmx:afterSwap", () =>
        setTimeout(() => document.querySelector('.piece[data-code="R18-1"]').click()), {once: true})""")
    piece(page, "R17-1").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#piece")).to_contain_text("R18-1")
    assert "/sphere/" in page.url, "the segment opens beside the map, not as a page of its own"


def test_arrows_go_from_piece_to_piece_and_take_the_window_along(open_map):
    page = open_map(query="?ring=10")
    piece(page, "R10-1").focus()
    for ring in range(11, 20):
        page.keyboard.press("ArrowDown")
        expect(piece(page, f"R{ring}-1")).to_be_focused()
    expect(page.locator("#window-name")).to_have_text("Rings 14–21")
    page.keyboard.press("Enter")
    expect(page.locator("#piece")).to_contain_text("R19-1")
    expect(page.locator("#piece")).to_be_focused()
    page.keyboard.press("Escape")
    expect(piece(page, "R19-1")).to_be_focused()


def test_one_piece_at_a_time_is_a_stop_for_tab(open_map):
    page = open_map(query="?ring=10")
    assert page.locator('.piece[tabindex="0"]').count() == 1


def test_the_window_stays_where_it_is_when_the_map_is_refreshed(barn, open_map):
    page = open_map(query="?ring=20", own_clock=True)
    piece(page, "R22-1").focus()
    work_through(barn.segments.get(code="R22-1"), Stage.POPULATE, by=barn.people.get(name="Marek"), pixels=4)
    wait(page)
    expect(piece(page, "R22-1")).to_have_attribute("aria-label", re.compile("4 populated"), timeout=10_000)
    expect(page.locator("#window-name")).to_have_text("Rings 20–27")
    expect(piece(page, "R22-1")).to_be_focused()


def test_when_no_answer_comes_the_page_says_since_when_it_is_old(open_map):
    page = open_map(own_clock=True)
    page.context.set_offline(True)
    wait(page)
    expect(page.locator("[data-live-state]")).to_contain_text("no news since", timeout=15_000)
    page.context.set_offline(False)
    wait(page)
    expect(page.locator("[data-live-state]")).to_be_hidden(timeout=15_000)


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_nothing_sticks_out_and_fingers_hit(open_map, width):
    page = open_map(query="?ring=10", width=width, height=740)
    piece(page, "R11-1").click()
    expect(page.locator("#piece")).to_contain_text("R11-1")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        """[...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
        .filter((one) => one.offsetParent)
        .filter((one) => { const box = one.getBoundingClientRect(); return box.height < 47.5 || box.width < 47.5; })
        .map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert small == []


def test_without_script_links_lead_to_segments_and_windows(barn, open_map):
    page = open_map(query="?ring=10", java_script_enabled=False)
    page.get_by_role("link", name="Rings below").click()
    expect(page.locator("#window-name")).to_have_text("Rings 14–21")
    piece(page, "R15-1").click()
    page.get_by_role("button", name="Mark populated").click()
    expect(page.locator("#messages")).to_contain_text("pixels populated")


def test_a_name_is_never_mark_up(barn, open_map):
    evil = join_crew(barn, '<img src=x onerror="document.title=1">')
    segment = barn.segments.get(code="R2-1")
    segment.assigned_to = evil
    segment.save()
    page = open_map(query="?ring=1")
    piece(page, "R2-1").click()
    expect(page.locator("#piece")).to_contain_text("<img src=x")


def test_an_entry_from_elsewhere_reaches_the_stage_totals(barn, open_map):
    page = open_map(own_clock=True)
    first = barn.segments.current().first()
    ticks.tick(
        build=barn, actor=None, entry_id=uuid.uuid4(), segment_code=first.code, stage=Stage.POPULATE, pixels=1,
        moment=ticks.Moment.now(MONDAY),
    )  # fmt: skip
    wait(page)
    expect(page.locator(".stages-row")).to_contain_text("1 of", timeout=10_000)


def test_what_is_chosen_on_the_map_comes_out_as_labels(barn, open_map):
    page = open_map(query="?ring=10")
    page.get_by_role("button", name="Choose all of ring 11").click()
    piece(page, "R13-2").click()
    whole = barn.segments.filter(ring=11).count()
    expect(page.locator("[data-count]")).to_have_text(f"{whole + 1} chosen")
    page.get_by_role("button", name="Print labels").click()
    expect(page.get_by_role("heading", name="Print labels")).to_be_visible()
    chosen = page.get_by_label("Segments").input_value().split()
    assert sorted(chosen) == sorted([*barn.segments.filter(ring=11).values_list("code", flat=True), "R13-2"])
    page.get_by_label("Rows", exact=True).fill("6")
    # Nothing draws a PDF here: the browser takes it as a file.
    with page.expect_request(re.compile("make=1")) as asked:
        page.get_by_role("button", name="Make the PDF").click()
    assert "segments=R11-1" in asked.value.url
    barn.refresh_from_db()
    assert barn.label_layout["rows"] == 6


def test_a_ring_tapped_twice_is_not_chosen_any_more(open_map):
    page = open_map(query="?ring=10")
    for _ in range(2):
        page.get_by_role("button", name="Choose all of ring 11").click()
    expect(page.get_by_role("textbox", name="Segments")).to_have_value("")
