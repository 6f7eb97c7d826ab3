"""Small drawings of how far something has come: bands of a segment, the bar of a stage, the square of a legend."""

from __future__ import annotations

from collections.abc import Sequence

from buildlog.drawings.svg import Markup, element

BAND, STEP = 5, 6  # height of a band and the way to the next one


def bands(shares: Sequence[float]) -> Markup:
    """Four bands filling from below, one a stage, each as long as the share of pixels that has passed it.

    ░░░░░░░░░░   tested
    ███░░░░░░░   wired
    ██████░░░░   mounted
    ██████████   populated
    """
    tall = STEP * len(shares) - (STEP - BAND)
    rows = []
    for place, share in enumerate(shares):
        y = tall - BAND - place * STEP
        rows.append(element("path", class_="s0", d=f"M0 {y}h100v{BAND}h-100z"))
        if share > 0:
            rows.append(element("path", class_=f"s{place + 1}", d=f"M0 {y}h{_percent(share)}v{BAND}H0z"))
    return element(
        "svg", *rows, class_="bands", viewBox=f"0 0 100 {tall}", preserveAspectRatio="none", aria_hidden="true"
    )


def stage_bar(level: int, share: float) -> Markup:
    """A bar in the stage's colour, as long as the share, with a mark where it ends."""
    end = _percent(share)
    inside = [element("path", class_="s0", d="M0 0h100v10H0z")]
    if share > 0:
        inside.append(element("path", class_=f"s{level}", d=f"M0 0h{end}v10H0z"))
        inside.append(element("path", class_="bar-end", d=f"M{end} 0v10"))
    return element("svg", *inside, class_="share", viewBox="0 0 100 10", preserveAspectRatio="none", aria_hidden="true")


def swatch(level: int) -> Markup:
    """The square of a legend: filled from below as high as a segment of that level is on the ball."""
    high = 4 * level
    fill = (element("path", class_=f"s{level}", d=f"M1 {17 - high}h14v{high}H1z"),) if level else ()
    frame = element("path", class_="s0", d="M1 1h14v16H1z")
    return element("svg", frame, *fill, class_="swatch", viewBox="0 0 16 18", aria_hidden="true")


def _percent(share: float) -> str:
    """A share as a length of 0 to 100; a little is never drawn as nothing, nor nearly all as all."""
    if 0 < share < 1:
        share = min(max(share, 0.02), 0.98)
    return f"{100 * share:.0f}"
