"""How much of the work is done by when: as it was up to today, and from there the fan of what is to come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from itertools import pairwise
from zoneinfo import ZoneInfo

from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.drawings.axes import Frame, days, share_axis, time_axis
from buildlog.drawings.picture import FONT, Area, Dot, DrawnLine, Picture, Shape, Words, text_width
from buildlog.drawings.ticks import day_name

BANDS = ((10, 90, "band-wide"), (25, 75, "band-near"))
ROW = FONT + 5
SURE = (50, 80)

TimedShare = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class NamedMoment:
    """A moment named above the plot."""

    moment: datetime
    text: str
    kind: str
    down_to: float  # the share at which its line ends


def fan_chart(document: ForecastDocument, zone: ZoneInfo, width: float, height: float) -> Picture | None:
    """The drawing of one forecast; None for a forecast that kept neither what was done nor what is to come."""
    if not document.history:
        return None
    begin, end = _span(document)
    marks = sorted(_marks(document, zone, begin, end), key=lambda mark: mark.moment)
    top = 12 + ROW * max(1, len(marks))  # what is said of today stands above its dot, also at 100 %
    frame = Frame(left=46, top=top, right=width - 12, bottom=height - 28, x_from=days(begin), x_to=days(end))
    shapes = (
        *time_axis(frame, begin, end, zone),
        *share_axis(frame),
        *_bands(frame, document),
        *_past(frame, document, zone),
        *_ready(frame, document, end),
        *_named(frame, marks),
        *_today(frame, document),
    )
    return Picture("fan", width, height, "Share of the work done, by day", _says(document, zone), shapes)


def _span(document: ForecastDocument) -> tuple[datetime, datetime]:
    """From the first work to the last moment of the fan; never nothing."""
    begin: datetime = document.history[0][0]
    end: datetime = document.fan.at[-1] if document.fan else document.as_of
    if days(end) - days(begin) < 1:
        end = datetime.fromtimestamp(begin.timestamp() + 86400, begin.tzinfo)
    return begin, end


def _marks(document: ForecastDocument, zone: ZoneInfo, begin: datetime, end: datetime) -> Iterator[NamedMoment]:
    ready = document.ready if document.fan else {}
    for sure in SURE:
        if sure in ready:
            yield NamedMoment(ready[sure], f"{sure} % sure: {day_name(ready[sure], zone)}", "sure", 1.0)
    if document.target and begin <= document.target.date <= end:
        yield NamedMoment(document.target.date, f"target: {day_name(document.target.date, zone)}", "target", 0.0)


def _bands(frame: Frame, document: ForecastDocument) -> Iterator[Shape]:
    if document.fan is None:
        return
    at = [days(moment) for moment in document.fan.at]
    for low, high, kind in BANDS:
        under = [frame.point(x, y) for x, y in zip(at, document.fan.shares[low], strict=True)]
        over = [frame.point(x, y) for x, y in zip(at, document.fan.shares[high], strict=True)]
        yield Area((*under, *reversed(over)), kind)
    yield DrawnLine(tuple(frame.point(x, y) for x, y in zip(at, document.fan.shares[50], strict=True)), "middle")


def _past(frame: Frame, document: ForecastDocument, zone: ZoneInfo) -> Iterator[Shape]:
    line = tuple(frame.point(days(moment), share) for moment, share in stepped(document.history, zone))
    yield Area((*line, (line[-1][0], frame.bottom), (line[0][0], frame.bottom)), "done-area")
    yield DrawnLine(line, "done")


def stepped(done: Sequence[TimedShare], zone: ZoneInfo) -> Iterator[TimedShare]:
    """The days of work with the days between them flat: nothing rises before the day on which it was done begins."""
    yield done[0]
    for (before, share), (moment, more) in pairwise(done):
        dawn = datetime.combine(moment.astimezone(zone).date(), time(), zone)
        if dawn > before and more != share:
            yield dawn, share
        yield moment, more


def _ready(frame: Frame, document: ForecastDocument, end: datetime) -> Iterator[Shape]:
    """Along the line of 100 %: between which moments it is ready."""
    ready = document.ready
    if document.fan is None or 10 not in ready:
        return
    begin, last = frame.x(days(ready[10])), frame.x(days(ready.get(90, end)))
    y = frame.y(1.0)
    yield DrawnLine(((begin, y), (last, y)), "ready-span")
    for sure in SURE:
        if sure in ready:
            yield Dot(frame.x(days(ready[sure])), y, "ready-dot", 4.5)


def _named(frame: Frame, marks: Sequence[NamedMoment]) -> Iterator[Shape]:
    """Names above the plot, one row each. They stand to the left of their line and the leftmost is the lowest, so
    that no line runs through a name; to the right, and the other way round, where the left has no room.
    """
    to_left = all(frame.x(days(mark.moment)) - text_width(mark.text) > 4 for mark in marks)
    for row, mark in enumerate(marks if to_left else reversed(marks)):
        x, y = frame.x(days(mark.moment)), frame.top - 8 - ROW * row
        yield DrawnLine(((x, y - FONT + 3), (x, frame.y(mark.down_to))), mark.kind)
        yield Words(x - 5 if to_left else x + 5, y, mark.text, f"{mark.kind}-label", "end" if to_left else "start")


def _today(frame: Frame, document: ForecastDocument) -> Iterator[Shape]:
    x, y = frame.point(days(document.as_of), document.share_done)
    text = f"today: {100 * document.share_done:.0f} % done"
    room = x - frame.left > text_width(text) + 10
    yield DrawnLine(((x, frame.bottom), (x, y)), "today")
    yield Dot(x, y, "today-dot", 5)
    yield Words(
        x - 9 if room else x + 9, y - 8 if room else y + FONT + 8, text, "today-label", "end" if room else "start"
    )


def _says(document: ForecastDocument, zone: ZoneInfo) -> str:
    text = f"{100 * document.share_done:.0f} % of the work is done on {day_name(document.as_of, zone)}."
    ready = document.ready
    if document.fan and ready:
        text += " Ready: " + ", ".join(
            f"{sure} % sure by {day_name(ready[sure], zone)}" for sure in (10, 50, 80, 90) if sure in ready
        ) + "."  # fmt: skip
    if document.target:
        text += f" The target is {day_name(document.target.date, zone)}."
    return text
