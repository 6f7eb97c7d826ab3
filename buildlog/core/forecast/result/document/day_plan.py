"""The document of the day plan, and how it is read: segments rather than single moves, by day and helper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import groupby

from msgspec import Struct, field

from buildlog.core.forecast.result.document.assignments import AssignmentsDocument
from buildlog.core.forecast.result.document.coding import Fact, Moment
from buildlog.core.wording import counted, listed
from buildlog.core.work.stages import STAGES, Stage

BREATH = timedelta(minutes=1)  # a shorter pause is none


class Move(Struct, frozen=True):
    """One helper at one segment at one stage, or at a job (no segment, no pixels). ``hours`` exact [h]."""

    helper: str
    work: str
    segment: str
    start: Moment
    end: Moment
    hours: float
    pixels: int
    hands: int


@dataclass(frozen=True, slots=True)
class Task:
    """Moves of one helper on one segment that follow one another without a pause."""

    moves: tuple[Move, ...]

    @property
    def segment(self) -> str:
        return self.moves[0].segment

    @property
    def start(self) -> datetime:
        return self.moves[0].start

    @property
    def end(self) -> datetime:
        """To the minute, and never that of the start."""
        return max(self.moves[-1].end, self.start + BREATH)

    @property
    def work(self) -> str:
        """What is done: populate and mount; the name of a job."""
        return listed([move.work for move in self.moves])

    @property
    def amount(self) -> str:
        """How many pixels pass: 80 pixels; 48 and 80 where they differ; nothing for a job."""
        counts = list(dict.fromkeys(move.pixels for move in self.moves if move.segment))
        if not counts:
            return ""
        return f"{listed([f'{count:,}' for count in counts[:-1]] + [counted(counts[-1], 'pixel')])}"

    @property
    def hands(self) -> int:
        return max(move.hands for move in self.moves)


@dataclass(frozen=True)
class Turn:
    """What one helper does on one day, in order."""

    helper: str
    tasks: tuple[Task, ...]

    @property
    def start(self) -> datetime:
        return self.tasks[0].start

    @property
    def end(self) -> datetime:
        return self.tasks[-1].end

    @property
    def moves(self) -> tuple[Move, ...]:
        return tuple(move for task in self.tasks for move in task.moves)

    @property
    def segments(self) -> tuple[str, ...]:
        """Codes, each once, in the order in which they come up."""
        return tuple(dict.fromkeys(task.segment for task in self.tasks if task.segment))

    @property
    def populate_h(self) -> float:
        """Hours of pushing pixels, which the limit of hand load is about."""
        return sum(move.hours for move in self.moves if move.work == Stage.POPULATE)

    @property
    def sums(self) -> tuple[tuple[str, int], ...]:
        """(stage, pixels that pass it), in the order of the stages."""
        sums = {stage.value: sum(move.pixels for move in self.moves if move.work == stage) for stage in STAGES}
        return tuple((stage, pixels) for stage, pixels in sums.items() if pixels)


@dataclass(frozen=True)
class Day:
    """One local day: whoever works on it, the earliest first."""

    date: date
    turns: tuple[Turn, ...]


class DayPlanDocument(Struct, frozen=True, kw_only=True, dict=True):
    """All moves in order, and when all is done at this rate (None: not within the shifts noted).

    ``sentence`` is None in plans that an earlier release saved.
    """

    build: str
    as_of: Moment
    finish: Moment | None
    sentence: Fact | None = None
    moves: tuple[Move, ...] = field(name="turns")

    @cached_property
    def dates(self) -> tuple[date, ...]:
        """The local days on which somebody works."""
        return tuple(sorted({move.start.date() for move in self.moves}))

    @cached_property
    def helpers(self) -> tuple[str, ...]:
        return tuple(sorted({move.helper for move in self.moves}))

    def part(self, day: date | None = None, helper: str | None = None) -> tuple[Move, ...]:
        """The moves of all days, or one; of everybody, or one helper."""
        return tuple(
            move for move in self.moves if helper in (None, move.helper) and day in (None, move.start.date())
        )  # fmt: skip

    def days(self, day: date | None = None, helper: str | None = None) -> tuple[Day, ...]:
        """All days, or one; everybody, or one helper."""
        moves = sorted(self.part(day, helper), key=_day_of)
        return tuple(Day(own_day, tuple(_turns(list(own)))) for own_day, own in groupby(moves, key=_day_of))


class DayPlanAnswer(DayPlanDocument, frozen=True, kw_only=True):
    """The day plan with whom it suggests for the coming shift; None in those of a release before."""

    assignments: AssignmentsDocument | None = field(name="handout", default=None)


def _day_of(move: Move) -> date:
    return move.start.date()


def _turns(moves: Sequence[Move]) -> list[Turn]:
    names = dict.fromkeys(move.helper for move in moves)
    turns = [Turn(name, tuple(_tasks(move for move in moves if move.helper == name))) for name in names]
    return sorted(turns, key=lambda turn: (turn.start, turn.helper))


def _tasks(moves: Iterable[Move]) -> Iterator[Task]:
    open_task: tuple[Move, ...] = ()
    for move in moves:
        if open_task and open_task[-1].segment == move.segment != "" and move.start - open_task[-1].end <= BREATH:
            open_task += (move,)
            continue
        if open_task:
            yield Task(open_task)
        open_task = (move,)
    if open_task:
        yield Task(open_task)
