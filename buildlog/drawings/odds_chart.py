"""How sure it is to be ready by each day, and how what was said of the finish moved from day to day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.drawings.axes import Frame, days, share_axis, time_axis
from buildlog.drawings.picture import FONT, Area, Dot, DrawnLine, Picture, Shape, Words, text_width
from buildlog.drawings.ticks import Ticks, day_name, ticks

NAMED = (10, 50, 80, 90)
BOLD = 1.12  # how much wider than others the letters of the target are


def odds_chart(document: ForecastDocument, zone: ZoneInfo, width: float, height: float) -> Picture | None:
    """The rising curve of the odds; None while fewer than two of them lie within the known availability."""
    if len(document.ready) < 2:
        return None
    moments = [moment for moment in document.ready.values()] + ([document.target.date] if document.target else [])
    begin, end = min(moments), max(moments)
    pad = max(timedelta(hours=12), (end - begin) * 0.08)
    begin, end = begin - pad, end + pad
    frame = Frame(46, 30, width - 12, height - 28, days(begin), days(end))
    shapes = (
        *time_axis(frame, begin, end, zone),
        *share_axis(frame),
        *_curve(frame, document),
        *_target(frame, document, zone),
        *_named(frame, document, zone),
    )
    return Picture("odds", width, height, "How sure it is to be ready by each day", _says(document, zone), shapes)


def _curve(frame: Frame, document: ForecastDocument) -> Iterator[Shape]:
    line = tuple(frame.point(days(moment), sure / 100) for sure, moment in document.ready.items())
    yield Area((*line, (line[-1][0], frame.bottom), (line[0][0], frame.bottom)), "odds-area")
    yield DrawnLine(line, "odds")


def _named(frame: Frame, document: ForecastDocument, zone: ZoneInfo) -> Iterator[Shape]:
    """The upper left of a rising curve is empty: there the names stand; at the left edge to the right of their dot."""
    ready = document.ready
    for sure in NAMED:
        if sure not in ready:
            continue
        x, y = frame.point(days(ready[sure]), sure / 100)
        text = f"{sure} %: {day_name(ready[sure], zone)}"
        begins = x - 8 - text_width(text)
        crossed = document.target and begins < frame.x(days(document.target.date)) < x - 8
        left = begins > frame.left and not (crossed and x + 9 + text_width(text) < frame.right)
        yield Dot(x, y, "odds-dot", 6 if sure == 80 else 4)
        yield Words(x - 9 if left else x + 9, y + (-3 if left else FONT), text, "label", "end" if left else "start")


def _target(frame: Frame, document: ForecastDocument, zone: ZoneInfo) -> Iterator[Shape]:
    if document.target is None:
        return
    x = frame.x(days(document.target.date))
    text = f"target {day_name(document.target.date, zone)}: {100 * document.target.probability:.0f} %"
    wide = BOLD * text_width(text)
    yield DrawnLine(((x, 8), (x, frame.bottom)), "target")
    if x - 5 - wide > 0:
        yield Words(x - 5, 18, text, "target-label", "end")
    else:  # where neither side has room it begins at the left edge
        yield Words(x + 5 if x + 5 + wide < frame.right else 2, 18, text, "target-label")


def _says(document: ForecastDocument, zone: ZoneInfo) -> str:
    ready = document.ready
    named = "; ".join(f"{sure} %: {day_name(ready[sure], zone)}" for sure in NAMED if sure in ready)
    return f"Ready by, so sure: {named}."


# ---- what was said from day to day ----------------------------------------------------------


def past_chart(documents: Sequence[ForecastDocument], zone: ZoneInfo, width: float, height: float) -> Picture | None:
    """For each day's forecast the span in which it saw the finish; None with fewer than two that saw document."""
    seen = [document for document in documents if {10, 50, 90} <= document.ready.keys()]
    if len(seen) < 2:
        return None
    ready = documents[-1].ready_at
    target = documents[-1].target.date if documents[-1].target else None
    finishes: list[datetime] = [document.ready[percent] for document in seen for percent in (10, 90)]
    finishes += [moment for moment in (ready, target) if moment]
    begin, end = seen[0].as_of, max(seen[-1].as_of, seen[0].as_of + timedelta(days=2))
    low, high = min(finishes) - timedelta(days=1), max(finishes) + timedelta(days=1)
    frame = Frame(
        text_width("Mon 28 Dec") + 10, 14, width - 12, height - 28, days(begin), days(end), days(low), days(high)
    )
    shapes = (
        *time_axis(frame, begin, end, zone),
        *_finish_axis(frame, low, high, zone),
        *_spans(frame, documents),
        *_level(frame, target, "target", "target"),
        *_level(frame, ready, "came", "ready"),
    )
    says = f"{len(seen)} forecasts. The first saw the finish {_span(seen[0], zone)}, the last {_span(seen[-1], zone)}."
    if ready:
        says += f" It was ready on {day_name(ready, zone)}."
    return Picture("past", width, height, "The finish as each day's forecast saw it", says, shapes)


def _span(document: ForecastDocument, zone: ZoneInfo) -> str:
    ready = document.ready
    return f"between {day_name(ready[10], zone)} and {day_name(ready[90], zone)}"


def _finish_axis(frame: Frame, low: datetime, high: datetime, zone: ZoneInfo) -> Iterator[Shape]:
    def named(some: Ticks) -> Ticks:
        rows = [frame.y(days(tick.moment)) for tick in some]
        apart = all(lower - upper >= 2.4 * FONT for lower, upper in pairwise(rows))
        return some if apart and all(text_width(tick.text) <= frame.left - 6 for tick in some) else ()

    for tick in ticks(low, high, zone, named):
        y = frame.y(days(tick.moment))
        yield DrawnLine(((frame.left, y), (frame.right, y)), "grid")
        yield Words(frame.left - 6, y + FONT / 3, tick.text, "tick", "end")


def _spans(frame: Frame, documents: Sequence[ForecastDocument]) -> Iterator[Shape]:
    """Bands over neighbouring forecasts that saw a finish; a dot for each."""
    for sees, group in groupby(documents, key=lambda document: {10, 50, 90} <= document.ready.keys()):
        if not sees:
            continue
        some = [(days(document.as_of), document.ready) for document in group]
        under = [frame.point(x, days(odds[10])) for x, odds in some]
        over = [frame.point(x, days(odds[90])) for x, odds in some]
        middle = tuple(frame.point(x, days(odds[50])) for x, odds in some)
        if len(some) == 1:
            yield DrawnLine((under[0], over[0]), "span")
        yield Area((*under, *reversed(over)), "band-wide")
        yield DrawnLine(middle, "middle")
        yield from (Dot(x, y, "past-dot", 3) for x, y in middle)


def _level(frame: Frame, moment: datetime | None, kind: str, text: str) -> Iterator[Shape]:
    if moment is not None:
        y = frame.y(days(moment))
        yield DrawnLine(((frame.left, y), (frame.right, y)), kind)
        yield Words(frame.right - 4, y - 5, text, f"{kind}-label", "end")
