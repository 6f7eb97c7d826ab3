"""The drawings of the Forecast screen, each for a narrow screen and for a wide one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.drawings.fan_chart import fan_chart
from buildlog.drawings.hours_chart import hours_chart
from buildlog.drawings.odds_chart import odds_chart, past_chart
from buildlog.drawings.picture import Picture, as_svg
from buildlog.drawings.svg import Markup, join

SIZES = {"narrow": (340.0, 330.0), "half": (520.0, 320.0), "wide": (820.0, 400.0)}


@dataclass(frozen=True)
class Charts:
    """SVG text, or "" where there is nothing to draw."""

    fan: Markup
    odds: Markup
    hours: Markup
    past: Markup


def charts_of(documents: Sequence[ForecastDocument], zone: ZoneInfo) -> Charts:
    """All drawings of the newest of these forecasts, and of how they followed one another (oldest first)."""
    now = documents[-1]
    rows = now.left
    return Charts(
        fan=_both(lambda width, height: fan_chart(now, zone, width, height), "wide"),
        odds=_both(lambda width, height: odds_chart(now, zone, width, height), "half"),
        hours=_both(lambda width, _: hours_chart(rows, width), "half"),
        past=_both(lambda width, height: past_chart(documents, zone, width, height), "wide"),
    )


def _both(draw: Callable[[float, float], Picture | None], large: str) -> Markup:
    """The drawing for a phone and the larger one; the stylesheet shows the one that fits."""
    drawn = ((draw(*SIZES[size]), size) for size in ("narrow", large))
    return join(as_svg(picture, size) for picture, size in drawn if picture is not None)
