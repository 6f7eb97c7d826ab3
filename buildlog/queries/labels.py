"""The labels of a build's segments."""

from __future__ import annotations

import re
from collections.abc import Sequence

from buildlog.core.errors import Problem, Refused
from buildlog.core.work.labels import Label
from buildlog.models import Build, Segment


def labels_of(build: Build, wanted: Sequence[str] = ()) -> tuple[Label, ...]:
    """Labels of the segments named, in the order of the ball; of all when none is named (two queries).

    A name is a segment's code, or a ring: R12 stands for all of ring 12. Raises Refused for a name that fits nothing.
    """
    rows = list(build.segments.current().prefetch_related("runs"))
    names = {name.strip().upper() for name in wanted if name.strip()}
    if unknown := sorted(name for name in names if not any(_fits(row, name) for row in rows)):
        raise Refused(
            Problem(f"The plan has no segment {', '.join(unknown[:5])}: codes look like R12-3, or R12.", "segments")
        )
    return tuple(_label(row) for row in rows if not names or any(_fits(row, name) for name in names))


def names_in(text: str) -> list[str]:
    """Codes with commas, semicolons or spaces between.

    >>> names_in("R1-1, R2;R3-1")
    ['R1-1', 'R2', 'R3-1']
    """
    return [name for name in re.split(r"[\s,;]+", text) if name]


def _fits(row: Segment, name: str) -> bool:
    return name in (row.code, f"R{row.ring}")


def _label(row: Segment) -> Label:
    channels = sorted({run.channel for run in row.runs.all()})
    return Label(row.code, row.label, row.pixels, row.closing, tuple(channels))
