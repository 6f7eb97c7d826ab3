"""What plan parameters may be: each alone, then together. Sentences say what would make the plan possible."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from buildlog.core.errors import Problem
from buildlog.core.plan.limits import BALL as LIMITS
from buildlog.core.plan.limits import number_problem, number_problems
from buildlog.core.work.stages import STAGES

__all__ = ["LIMITS", "check_limits", "check_together", "number_problem", "say_rings"]

if TYPE_CHECKING:
    from buildlog.core.plan.parameters import PlanParameters


def check_limits(given: PlanParameters) -> list[Problem]:
    """Each field alone."""
    problems = number_problems(given, LIMITS)
    return [*problems, *_choices(given), *_people(given), *_measured(given), *_pairs(given), *_hand_pieces(given)]


def _choices(given: PlanParameters) -> Iterator[Problem]:
    choices = {
        "channel_cut": ("anywhere", "joints", "rings"),
        "start_from": ("top", "bottom"),
        "alternate": (True, False),
    }
    for name, allowed in choices.items():
        value = getattr(given, name)
        if value not in allowed:
            yield Problem(f"“{value}” is not known here; allowed: {', '.join(map(str, allowed))}.", name)


def _people(given: PlanParameters) -> Iterator[Problem]:
    for stage, limit in given.people:
        if stage not in tuple(STAGES):
            yield Problem(f"“{stage}” is not a stage; stages: {', '.join(STAGES)}.", "people")
        elif isinstance(limit, bool) or not isinstance(limit, int) or limit < 1:
            yield Problem(f"{stage}={limit}: write how many people fit, 1 or more.", "people")


def _measured(given: PlanParameters) -> Iterator[Problem]:
    if given.measured is None:
        return
    if not given.measured:
        yield Problem("The ring table has no rings: give one row a ring, with ring and pixels.", "rings")
    if len(given.measured) > LIMITS["rings_count"].most:
        yield Problem(f"The ring table has {len(given.measured):,} rings; at most 5,000 are planned for.", "rings")
    for ring, times in Counter(row.ring for row in given.measured).items():
        if times > 1:
            yield Problem(f"Ring {ring} is there {times} times: keep one row.", "rings")
    for row in given.measured:
        yield from _measured_row(row)
    if given.ring_spacing_m is None and given.rings_count is None:
        yield from _whole_table({row.ring: row for row in given.measured})


def _whole_table(rows: dict[int, Any]) -> Iterator[Problem]:
    """A table that stands alone names every ring once and gives all heights or none."""
    numbers = [number for number in rows if _is_count(number, 1)]
    if missing := sorted(set(range(1, min(max(numbers, default=0), len(rows) + 20) + 1)) - set(numbers)):
        yield Problem(f"{say_rings(missing)} missing: number the rings from 1 at the top, without a gap.", "rings")
    bare = [number for number, row in rows.items() if row.height_m is None]
    if bare and len(bare) < len(rows):
        yield Problem(f"{say_rings(bare)} without height_mm: give it for every ring or for none.", "rings")


def _measured_row(row: Any) -> Iterator[Problem]:
    if not _is_count(row.ring, 1):
        yield Problem(f"Ring number {row.ring!r}: write a whole number from 1.", "rings")
    if not _is_count(row.pixels, 1):
        yield Problem(f"Ring {row.ring} has {row.pixels!r} pixels: write a whole number from 1.", "rings")
    if row.height_m is not None and not (isinstance(row.height_m, (int, float)) and math.isfinite(row.height_m)):
        yield Problem(f"Ring {row.ring} has height {row.height_m!r}: write a number of millimetres.", "rings")


def _pairs(given: PlanParameters) -> Iterator[Problem]:
    if given.closing_rings is not None and not _is_range(given.closing_rings):
        yield Problem("Closing rings are a range: first ring, last ring, both from 1.", "closing_rings")
    if given.closing_bays is not None and not all(_is_count(bay, 1) for bay in given.closing_bays):
        yield Problem("Closing bays are a range: first bay, last bay, both from 1.", "closing_bays")


def _hand_pieces(given: PlanParameters) -> Iterator[Problem]:
    for ring, pieces in given.hand_pieces:
        if not _is_count(ring, 1) or not pieces or not all(_is_count(piece, 1) for piece in pieces):
            yield Problem(f"Ring {ring}: pieces are whole numbers from 1, such as 50 48 48.", "hand_pieces")


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


def _is_count(value: object, least: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= 10_000_000


def _is_range(pair: tuple[int, int]) -> bool:
    return len(pair) == 2 and all(_is_count(end, 1) for end in pair) and pair[0] <= pair[1]


def check_together(given: PlanParameters) -> list[Problem]:
    """What single numbers cannot show: things given twice, things missing, things that exclude each other."""
    return [*_given_twice(given), *_missing(given), *_ribs_needed(given), *_segment_order(given)]


def _given_twice(given: PlanParameters) -> Iterator[Problem]:
    for one, other, words in (
        ("top_pixels", "top_deg", "the first ring"),
        ("bottom_pixels", "bottom_deg", "the last ring"),
    ):
        if getattr(given, one) is not None and getattr(given, other) is not None:
            yield Problem(f"Both {one} and {other} are given for {words}: give one of them.", other)
    bottom = given.bottom_pixels is not None or given.bottom_deg is not None
    if given.ring_spacing_m is not None and given.rings_count is not None and bottom:
        what = "Ring spacing, ring count and a last ring are given: two of them make the third. Leave one out."
        yield Problem(what, "rings_count")


def _missing(given: PlanParameters) -> Iterator[Problem]:
    by_formula = given.measured is None
    heights = not by_formula and all(row.height_m is not None for row in given.measured or ())
    for value, option in ((given.diameter_m, "diameter"), (given.pitch_m, "pitch")):
        if value is None and by_formula:
            yield Problem(f"The {option} is missing: give it, such as {_EXAMPLE[option]}.", option)
        elif value is None and (not heights or given.ring_spacing_m or given.rings_count):
            what = f"The {option} is missing: give it, or give height_mm for every ring of the table alone."
            yield Problem(what, option)
    if by_formula and given.ring_spacing_m is None and given.rings_count is None:
        yield Problem("Give the ring spacing, such as 60mm, or the number of rings.", "ring_spacing")


_EXAMPLE = {"diameter": "2.6m", "pitch": "30mm"}


def _ribs_needed(given: PlanParameters) -> Iterator[Problem]:
    ribs = given.ribs
    for name in ("closing_bays", "seam_stagger"):
        if ribs is None and getattr(given, name):
            yield Problem("Bays lie between ribs: give the number of ribs too.", name)
    if given.closing_bays is not None and given.closing_rings is None:
        yield Problem("A door is rings and bays: give the closing rings too.", "closing_rings")
    if ribs is not None and given.closing_bays is not None and max(given.closing_bays) > ribs:
        yield Problem(f"{ribs} ribs make bays 1 to {ribs}; bay {max(given.closing_bays)} is not there.", "closing_bays")
    if given.seam_rib > (ribs or 1):
        yield Problem(f"Rib {given.seam_rib} is not there: give ribs 1 to {ribs or 1}, or more ribs.", "seam_rib")


def _segment_order(given: PlanParameters) -> Iterator[Problem]:
    if given.min_segment > given.max_segment:
        what = (
            f"The shortest segment ({given.min_segment}) is longer than the longest ({given.max_segment}): swap them."
        )
        yield Problem(what, "min_segment")
