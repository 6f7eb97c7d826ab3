"""The labels of a build's segments."""

from __future__ import annotations

from buildlog.core.work.choose import choose
from buildlog.core.work.labels import SegmentLabel
from buildlog.models import Build, Segment
from buildlog.queries.sphere import board_of


def labels_of(build: Build, wanted: str = "") -> tuple[SegmentLabel, ...]:
    """Labels of the segments that ``wanted`` names as on the map, in the order of the ball; of all when it is empty.

    Two queries for all, five more to know what lies between two segments. Raises Refused for a name that fits nothing.
    """
    rows = build.segments.current().prefetch_related("runs")
    if not wanted.strip():
        return tuple(_label(row) for row in rows)
    codes = set(choose(wanted, board_of(build).cells))
    return tuple(_label(row) for row in rows if row.code in codes)


def _label(row: Segment) -> SegmentLabel:
    channels = sorted({run.channel for run in row.runs.all()})
    return SegmentLabel(row.code, row.label, row.pixels, row.closing, tuple(channels))
