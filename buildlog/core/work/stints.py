"""Stints: spells of work by one or more helpers, and what is odd about some of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from buildlog.core.errors import Problem
from buildlog.core.wording import _
from buildlog.core.work.stages import Stage

LONGEST = timedelta(hours=12)  # past this a stint is taken for a forgotten timer
QUIET = timedelta(hours=3)  # whoever works at night may go this long without a tick


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time in UTC with the break taken inside it."""

    start: datetime
    end: datetime
    rest: timedelta = timedelta(0)

    def problem(self) -> Problem | None:
        """What makes this spell impossible, or None."""
        if self.end < self.start:
            return Problem(_("The stint ends before it starts: give an end after the start."), "end")
        if self.rest < timedelta(0):
            return Problem(_("A break cannot be negative: give minutes from 0 up."), "break_min")
        if self.rest > self.end - self.start:
            minutes = self.rest.total_seconds() / 60
            whole = (self.end - self.start).total_seconds() / 60
            return Problem(
                _("The break of {minutes:g} min is longer than the stint of {whole:g} min: give a shorter break."),
                "break_min",
                minutes=minutes,
                whole=whole,
            )
        return None

    @property
    def hours(self) -> float:
        """Hours worked by each helper, break left out [h]. Subtracted in UTC, so clock changes do not matter."""
        return (self.end - self.start - self.rest).total_seconds() / 3600


def overlaps(start: datetime, end: datetime | None, other_start: datetime, other_end: datetime | None) -> bool:
    """Do two stretches share time? An end of None means still running; touching ends do not overlap."""
    return (end is None or other_start < end) and (other_end is None or start < other_end)


def doubtful(start: datetime, end: datetime, zone: ZoneInfo, ticked_after_midnight: bool) -> str | None:
    """The reason why a stint needs somebody's word before it counts, or None.

    Longer than 12 h, or past midnight of the build's own zone without a tick after it.
    """
    if end - start > LONGEST:
        return f"It ran for {(end - start).total_seconds() / 3600:.1f} h: more than 12 h looks like a forgotten stop."
    last_moment = end - timedelta(microseconds=1)
    if start.astimezone(zone).date() != last_moment.astimezone(zone).date() and not ticked_after_midnight:
        return "It ran past midnight without a tick: it looks like a forgotten stop."
    return None


@dataclass(frozen=True, slots=True)
class StintTick:
    """A tick made during a stint."""

    segment: str
    stage: Stage
    pixels: int
    at: datetime


@dataclass(frozen=True, slots=True)
class StintShare:
    """The share of a stint that went into one segment."""

    segment: str
    start: datetime
    end: datetime
    rest: timedelta
    pixels: int


def parts(
    start: datetime, end: datetime, rest: timedelta, marks: Sequence[StintTick], segment: str = ""
) -> tuple[StintShare, ...]:
    """Cut a stint where its ticks pass from one segment to the next; breaks are shared out by time.

    Ticks that an undo took back (a sum of 0) leave no part of their own. Without ticks the whole stint is one part
    of 0 pixels on ``segment``. The last part runs to the end.
    """
    sums: dict[str, int] = defaultdict(int)
    last: dict[str, datetime] = {}
    for mark in marks:
        sums[mark.segment] += mark.pixels
        last[mark.segment] = max(mark.at, last.get(mark.segment, mark.at))
    done = sorted((code for code in sums if sums[code] > 0), key=lambda code: (last[code], code))
    if not done:
        return (StintShare(segment, start, end, rest, 0),)
    cuts = [start, *(min(max(last[code], start), end) for code in done[:-1]), end]
    whole = end - start
    return tuple(
        StintShare(code, cut, upto, rest * ((upto - cut) / whole) if whole else rest, sums[code])
        for code, cut, upto in zip(done, cuts, cuts[1:], strict=False)
    )


def forgotten(start: datetime, now: datetime, zone: ZoneInfo, last_tick: datetime | None) -> str | None:
    """The reason why nobody can still be working on a running stint, or None.

    As doubtful(), but at night somebody may just be busy: only when nothing was ticked for a while as well.
    """
    midnight = now.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
    if now - start <= LONGEST and now - (last_tick or start) <= QUIET:
        return None
    return doubtful(start, now, zone, last_tick is not None and last_tick >= midnight)
