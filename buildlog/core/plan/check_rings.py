"""A measured ring table: what is wrong with its rows, and ring numbers in a sentence."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from buildlog.core.errors import Problem
from buildlog.core.plan.kinds import is_count
from buildlog.core.plan.parameter_table import BallParameters, MeasuredRing, rows_of
from buildlog.core.wording import _


def check_rings(parameters: BallParameters) -> Iterator[Problem]:
    """What is wrong with the table, row by row and as a whole."""
    rows = parameters.measured
    if rows is None:
        return
    if not rows:
        yield Problem(_("The ring table has no rings: give one row a ring, with ring and pixels."), "rings")
    if len(rows) > _MOST_RINGS:
        yield Problem(
            _("The ring table has {rows:,} rings; at most {most:,} are planned for."),
            "rings",
            rows=len(rows),
            most=_MOST_RINGS,
        )
    for ring, times in Counter(row.ring for row in rows).items():
        if times > 1:
            yield Problem(_("Ring {ring} is there {times} times: keep one row."), "rings", ring=ring, times=times)
    for row in rows:
        yield from _check_row(row)
    if parameters.ring_spacing_m is None and parameters.rings_count is None:
        yield from _whole_table({row.ring: row for row in rows})


_MOST_RINGS = next(row.most for row in rows_of(BallParameters) if row.field == "rings_count")


def _whole_table(rows: Mapping[int, MeasuredRing]) -> Iterator[Problem]:
    """A table that stands alone names every ring once and gives all heights or none."""
    numbers = [number for number in rows if is_count(number, 1)]
    if missing := sorted(set(range(1, min(max(numbers, default=0), len(rows) + 20) + 1)) - set(numbers)):
        yield Problem(
            _("{rings} missing: number the rings from 1 at the top, without a gap."),
            "rings",
            rings=say_rings(missing),
        )
    bare = [number for number, row in rows.items() if row.height_m is None]
    if bare and len(bare) < len(rows):
        yield Problem(
            _("{rings} without height_mm: give it for every ring or for none."), "rings", rings=say_rings(bare)
        )


def _check_row(row: MeasuredRing) -> Iterator[Problem]:
    if not is_count(row.ring, 1):
        yield Problem(_("Ring number {ring!r}: write a whole number from 1."), "rings", ring=row.ring)
    if not is_count(row.pixels, 1):
        yield Problem(
            _("Ring {ring} has {pixels!r} pixels: write a whole number from 1."),
            "rings",
            ring=row.ring,
            pixels=row.pixels,
        )
    if row.height_m is not None and not (isinstance(row.height_m, (int, float)) and math.isfinite(row.height_m)):
        yield Problem(
            _("Ring {ring} has height {height_m!r}: write a number of millimetres."),
            "rings",
            ring=row.ring,
            height_m=row.height_m,
        )


def say_rings(numbers: Iterable[int]) -> str:
    """Ring numbers for a sentence, neighbours joined: ``Rings 1-3, 60-64``."""
    ordered = sorted(numbers)
    spans: list[list[int]] = []
    for number in ordered:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    parts = [f"{a}" if a == b else f"{a}-{b}" for a, b in spans]
    if len(parts) > 8:
        parts = [*parts[:7], f"… {parts[-1]}"]
    return f"{'Ring' if len(ordered) == 1 else 'Rings'} {', '.join(parts)}"
