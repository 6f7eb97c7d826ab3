"""Stints: spells of work by one or more helpers, and what is odd about some of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from buildlog.core.errors import Problem

LONGEST = timedelta(hours=12)  # past this a stint is taken for a forgotten timer


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time in UTC with the break taken inside it."""

    start: datetime
    end: datetime
    rest: timedelta = timedelta(0)

    def problem(self) -> Problem | None:
        """What makes this spell impossible, or None."""
        if self.end < self.start:
            return Problem("The stint ends before it starts: give an end after the start.", "end")
        if self.rest < timedelta(0):
            return Problem("A break cannot be negative: give minutes from 0 up.", "break_min")
        if self.rest > self.end - self.start:
            minutes = self.rest.total_seconds() / 60
            whole = (self.end - self.start).total_seconds() / 60
            return Problem(
                f"The break of {minutes:g} min is longer than the stint of {whole:g} min: give a shorter break.",
                "break_min",
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
