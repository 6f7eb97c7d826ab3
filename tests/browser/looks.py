"""What every screen has to hold in a real browser: room for a gloved finger, no sideways scroll, no serious fault for
those who do not see or do not use a mouse, and that all of it can be reached by keyboard."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

FINGER = 48  # CSS pixels
ROUNDING = 0.5

TARGETS = """(finger) => [...document.querySelectorAll(
  'a[href], button, input:not([type=hidden]), select, textarea, summary')].filter((one) => {
    if (!one.checkVisibility({checkVisibilityCSS: true}) || one.closest('.skip')) return false;
    const box = (one.matches('[type=checkbox], [type=radio]') ? one.closest('label') : one).getBoundingClientRect();
    return box.width < finger || box.height < finger;
  }).map((one) => {
    const box = one.getBoundingClientRect();
    return `${one.outerHTML.slice(0, 90)} ${box.width.toFixed(1)} × ${box.height.toFixed(1)}`;
  })"""

FOCUSABLE = """() => [...document.querySelectorAll(
  'a[href], button, input:not([type=hidden]), select, textarea, summary')]
  .filter((one) => one.checkVisibility({checkVisibilityCSS: true}) && !one.disabled && one.tabIndex >= 0)
  .filter((one) => !one.matches('[type=radio]') || one.checked)  // Tab goes to the one chosen, arrows to the others
  .map((one, number) => (one.dataset.stop = number))"""

NOTE_STOPS = """() => addEventListener(
  'keyup', () => window.stops.push(document.activeElement?.dataset?.stop), {capture: true})"""

# What passes is only counted, not described: that took most of the time.
VIOLATIONS = "(options) => axe.run(document, options).then((answer) => answer.violations)"


def small_targets(page: Page) -> list[str]:
    """What can be pressed and is smaller than a finger; for a box to tick, its label counts."""
    return page.evaluate(TARGETS, FINGER - ROUNDING)


def sideways(page: Page) -> int:
    """By how many pixels the page is wider than the screen."""
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


def serious_faults(page: Page, *rules: str) -> list[str]:
    """Serious and critical faults that axe-core finds (all its rules, or only these)."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    only = {"runOnly": list(rules)} if rules else {}
    violations = page.evaluate(VIOLATIONS, {"resultTypes": ["violations"]} | only)
    return [
        f"{fault['id']}: {fault['help']} ({fault['nodes'][0]['html'][:120]})"
        for fault in violations
        if fault["impact"] in ("serious", "critical")
    ]


def out_of_reach(page: Page) -> list[int]:
    """What can be pressed but does not get the focus when one goes through the page with Tab."""
    stops = page.evaluate(FOCUSABLE)
    page.evaluate("document.activeElement.blur(); scrollTo(0, 0); window.stops = []")
    page.evaluate(NOTE_STOPS)
    most, left = 4 * len(stops) + 20, set(stops)  # a field for a time has stops of its own inside
    while left and most > 0:
        for _ in range(presses := min(most, len(left))):
            page.keyboard.press("Tab")
        most -= presses
        left = set(stops) - {int(stop) for stop in page.evaluate("window.stops") if stop}
    return sorted(left)


def faults(page: Page) -> list[str]:
    """Everything above, in words."""
    said = [f"too small: {one}" for one in small_targets(page)]
    if wide := sideways(page):
        said.append(f"{wide} px too wide")
    said += serious_faults(page)
    said += [f"not reached by Tab: number {one}" for one in out_of_reach(page)]
    return said
