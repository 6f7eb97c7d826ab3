"""What a lead's files say, row by row, once read: plain values, times in UTC, nothing looked up yet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Generic, Protocol, TypeVar

from buildlog.core.errors import Problem

T = TypeVar("T")


Watch = Callable[[int, int], None]  # told rows taken in and rows of the file; raises to stop


def nobody(taken: int, rows: int) -> None:
    """Watches without a word."""


@dataclass(frozen=True)
class Reading(Generic[T]):
    """A file as read: the rows that make sense, what is wrong with the others, and remarks that refuse nothing."""

    rows: tuple[T, ...] = ()
    problems: tuple[Problem, ...] = ()
    remarks: tuple[str, ...] = ()
    watch: Watch = nobody


class Numbered(Protocol):
    """A row of a file, which knows where it stood: the header is row 1."""

    @property
    def row(self) -> int | None: ...


@dataclass(frozen=True, slots=True)
class CrewRow:
    row: int
    name: str
    initials: str = ""
    skills: tuple[str, ...] = ()
    populate_limit_h: float = 3.0
    role: str = "helper"


@dataclass(frozen=True, slots=True)
class ShiftRow:
    row: int
    name: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class PatternRow:
    row: int
    name: str
    weekday: int  # 0 = Monday
    from_time: time
    until_time: time
    first_day: date | None = None
    last_day: date | None = None


@dataclass(frozen=True, slots=True)
class StintRow:
    row: int
    names: tuple[str, ...]
    work: str  # a stage or the name of a job
    start: datetime
    end: datetime
    rest_min: float = 0.0
    segment: str = ""
    pixels: int = 0


@dataclass(frozen=True, slots=True)
class JobRow:
    row: int
    name: str
    hours_low: float
    hours_likely: float
    hours_high: float
    hands: int = 1
    after: tuple[str, ...] = ()
    skills: tuple[str, ...] = field(default=())
