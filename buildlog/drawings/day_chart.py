"""One day of the day plan: a lane for each helper, along the hours, in the colours of the stages."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from math import ceil
from zoneinfo import ZoneInfo

from buildlog.core.forecast.result.document.day_plan import Day, Turn
from buildlog.core.work.stages import STAGES
from buildlog.drawings.axes import GAP, Frame
from buildlog.drawings.picture import FONT, DrawnLine, Picture, Shape, Words, as_svg, bar, text_width
from buildlog.drawings.svg import Markup, join

SIZES = {"narrow": 340.0, "wide": 820.0}
LANE, BAR, TOP, UNDER, EDGE = 44.0, 16.0, 4.0, 24.0, 6.0
STAGE_KINDS = {stage.value: f"lane-{number}" for number, stage in enumerate(STAGES, 1)}


def day_drawing(day: Day, zone: ZoneInfo) -> Markup:
    """For a phone and for more."""
    return join(as_svg(day_chart(day, zone, width), size) for size, width in SIZES.items())


def day_chart(day: Day, zone: ZoneInfo, width: float) -> Picture:
    """Whole hours from the first start to the last end; each stage a height and a colour of its own."""
    begin = min(turn.start for turn in day.turns).astimezone(zone).replace(minute=0)
    end = max(turn.end for turn in day.turns)
    height = TOP + LANE * len(day.turns) + UNDER
    frame = Frame(EDGE, TOP, width - EDGE, height - UNDER, 0.0, max(1.0, ceil(_hours(begin, end))))
    shapes: list[Shape] = [*_axis(frame, begin, zone)]
    for number, turn in enumerate(day.turns):
        shapes += _lane(frame, turn, begin, TOP + LANE * number)
    says = " ".join(f"{turn.helper}: {turn.start:%H:%M} to {turn.end:%H:%M}." for turn in day.turns)
    return Picture(f"day-{day.date.toordinal()}", width, height, "Who works when on what", says, tuple(shapes))


def _hours(begin: datetime, moment: datetime) -> float:
    return (moment.timestamp() - begin.timestamp()) / 3600


def _axis(frame: Frame, begin: datetime, zone: ZoneInfo) -> Iterator[Shape]:
    """Full hours, as many as have room; the names of the first and the last stay within the plot."""
    wide = text_width("00:00")
    every = max(1, ceil(frame.x_to * (1.5 * wide + GAP) / (frame.right - frame.left)))
    for hour in range(0, int(frame.x_to) + 1, every):
        x, moment = frame.x(hour), datetime.fromtimestamp(begin.timestamp() + 3600 * hour, zone)
        inside = min(max(x, frame.left + wide / 2), frame.right - wide / 2)
        yield DrawnLine(((x, frame.top), (x, frame.bottom + 4)), "grid")
        yield Words(inside, frame.bottom + FONT + 4, f"{moment:%H:%M}", "tick", "middle")


def _lane(frame: Frame, turn: Turn, begin: datetime, top: float) -> Iterator[Shape]:
    """Later stages stand higher, so that they differ without colour."""
    lower = top + LANE - 4
    yield Words(frame.left, top + FONT + 2, turn.helper, "name")
    for move in turn.moves:
        left, right = frame.x(_hours(begin, move.start)), frame.x(_hours(begin, move.end))
        kind = STAGE_KINDS.get(move.work, "lane-0")
        tall = BAR * (0.4 + 0.15 * int(kind[-1]))
        yield bar(left, lower - tall, max(right, left + 1), lower, kind)
