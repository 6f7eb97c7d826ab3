"""Changing a frozen plan while work goes on: what stays, what changes, and what is to be decided."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from buildlog.core.plan.parts import PlannedSegment
from buildlog.core.plan.plan import BallPlan
from buildlog.core.units import show_length

_HAIR_M = 1e-7  # a pitch that differs by less is the same strap
_MOVE_M = 0.001  # a ring that moves by less stays where it was mounted


class Fate(StrEnum):
    """What becomes of a segment."""

    STAYS = "stays"
    CHANGES = "changes"
    GOES = "goes"
    COMES = "comes"


class Decision(StrEnum):
    """What the lead may say about pixels ticked on a segment that changes or goes."""

    KEEP = "keep"
    MOVE = "move count"
    REDO = "redo"


@dataclass(frozen=True, slots=True)
class SegmentChange:
    """One segment before and after. ``choices`` are the decisions open to the lead; none when nothing was ticked.

    ``moves_to`` lists the new segments that cover the same stretch of the ring, with the pixels they share.
    """

    fate: Fate
    before: PlannedSegment | None
    after: PlannedSegment | None
    why: str
    ticked: bool = False
    moves_to: tuple[tuple[str, int], ...] = ()

    @property
    def code(self) -> str:
        segment = self.before or self.after
        return segment.code if segment else ""

    @property
    def choices(self) -> tuple[Decision, ...]:
        if not self.ticked or self.fate in (Fate.STAYS, Fate.COMES):
            return ()
        keep = (Decision.KEEP,) if self.fate is Fate.CHANGES else ()
        return (*keep, *((Decision.MOVE,) if self.moves_to else ()), Decision.REDO)


@dataclass(frozen=True)
class Revision:
    """Two plans and what lies between them."""

    changes: tuple[SegmentChange, ...]
    rewired: tuple[str, ...]  # segments that stay as strap, but not on the same channels

    @cached_property
    def by_code(self) -> dict[str, SegmentChange]:
        """Changes by the code of their segment."""
        return {change.code: change for change in self.changes}

    def of(self, fate: Fate) -> tuple[SegmentChange, ...]:
        return tuple(change for change in self.changes if change.fate is fate)

    @property
    def open(self) -> tuple[SegmentChange, ...]:
        """Changes that wait for the lead's decision."""
        return tuple(change for change in self.changes if change.choices)

    def undecided(self, decisions: Mapping[str, Decision]) -> tuple[str, ...]:
        """Codes for which a decision is missing or not open."""
        return tuple(change.code for change in self.open if decisions.get(change.code) not in change.choices)


def revise(before: BallPlan, after: BallPlan, ticked: Mapping[str, int] | None = None) -> Revision:
    """What changes from one plan to the other. ``ticked`` says how many pixels of a segment passed any stage.

    A segment stays when its code, its pitch, its place on the ball, its pixels and whether it closes the way in are
    the same.
    """
    ticked = ticked or {}
    moved = _ring_changes(before, after)
    new_by_ring: dict[int, list[PlannedSegment]] = {}
    for segment in after.segments:
        new_by_ring.setdefault(segment.ring, []).append(segment)
    changes = [
        _change(segment, after.by_code.get(segment.code), new_by_ring.get(segment.ring, []), moved, ticked)
        for segment in before.segments
    ]
    comes = [
        SegmentChange(Fate.COMES, None, segment, "new piece")
        for segment in after.segments
        if segment.code not in before.by_code
    ]
    return Revision((*changes, *comes), _rewired(before, after))


def _ring_changes(before: BallPlan, after: BallPlan) -> dict[int, list[str]]:
    """What is said of every segment of a ring that lies elsewhere, or whose strap has another pitch."""
    pitch = [] if abs(before.pitch_m - after.pitch_m) < _HAIR_M else [_pitch_words(before, after)]
    out = {ring.number: list(pitch) for ring in before.rings}
    for old, new in zip(before.rings, after.rings, strict=False):
        move = math.radians(new.polar_deg - old.polar_deg) * after.diameter_m / 2
        if abs(move) >= _MOVE_M:
            out[old.number].append(f"ring {show_length(abs(move))} {'lower' if move > 0 else 'higher'}")
        if abs(new.seam_deg - old.seam_deg) > 1e-6:
            out[old.number].append(f"seam at {new.seam_deg:g}° instead of {old.seam_deg:g}°")
    return out


def _pitch_words(before: BallPlan, after: BallPlan) -> str:
    return f"pitch {show_length(before.pitch_m)} → {show_length(after.pitch_m)}"


def _change(
    old: PlannedSegment,
    new: PlannedSegment | None,
    ring: list[PlannedSegment],
    moved: Mapping[int, list[str]],
    ticked: Mapping[str, int],
) -> SegmentChange:
    done = ticked.get(old.code, 0) > 0
    if new is None:
        return SegmentChange(Fate.GOES, old, None, "no such piece any more", done, _overlaps(old, ring))
    why = [
        words
        for words, same in (
            (f"{old.pixels} → {new.pixels} pixels", old.pixels == new.pixels),
            (f"first pixel {old.first_pixel} → {new.first_pixel}", old.first_pixel == new.first_pixel),
            ("now closes the way in" if new.closing else "no longer closes the way in", old.closing == new.closing),
        )
        if not same
    ]
    why += moved[old.ring]
    if not why:
        return SegmentChange(Fate.STAYS, old, new, "", done)
    return SegmentChange(Fate.CHANGES, old, new, ", ".join(why), done, _overlaps(old, ring))


def _overlaps(old: PlannedSegment, ring: list[PlannedSegment]) -> tuple[tuple[str, int], ...]:
    first, end = old.first_pixel, old.first_pixel + old.pixels
    shared = ((new.code, min(end, new.first_pixel + new.pixels) - max(first, new.first_pixel)) for new in ring)
    return tuple((code, pixels) for code, pixels in shared if pixels > 0)


def _rewired(before: BallPlan, after: BallPlan) -> tuple[str, ...]:
    old, new = _wired(before), _wired(after)
    return tuple(
        segment.code for segment in after.segments if segment.code in old and old[segment.code] != new[segment.code]
    )


def _wired(plan: BallPlan) -> dict[str, list[tuple[int, int, int, bool]]]:
    """Each segment's runs with their channel."""
    out: dict[str, list[tuple[int, int, int, bool]]] = {}
    for channel in plan.channels:
        for run in channel.runs:
            out.setdefault(run.segment, []).append((channel.number, run.first, run.last, run.reversed))
    return out
