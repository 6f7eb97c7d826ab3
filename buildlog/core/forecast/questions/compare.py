"""What-ifs beside today: the same figures in the same order, and by how much they differ."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from buildlog.core.forecast.result.document.forecast import SURE, WORK, KeyFigures, Target

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class ComparedCell:
    """One figure of one column. ``text`` says it, ``change`` how it differs from today ("" in today's column).

    ``better``: True = sooner, surer, less; None = no different, or today.
    """

    text: str
    change: str = ""
    better: bool | None = None


@dataclass(frozen=True, slots=True)
class ComparedFigure:
    """One figure, today's cell first."""

    what: str
    cells: tuple[ComparedCell, ...]


@dataclass(frozen=True, slots=True)
class ComparedForecast:
    """One forecast: (what, cell) of each figure."""

    name: str
    cells: tuple[tuple[str, ComparedCell], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A forecast, and today's with which it shares its random numbers (None: it is today's)."""

    name: str
    figures: KeyFigures
    against: KeyFigures | None = None


@dataclass(frozen=True)
class Comparison:
    """Forecasts beside each other: today first, then each what-if."""

    columns: tuple[Column, ...]

    @property
    def finish(self) -> tuple[ComparedFigure, ...]:
        """Ready by, at 10, 50, 80 and 90 % sure."""
        return tuple(self._row(f"{sure} % sure", _ready(sure), _date_cell) for sure in SURE)

    @property
    def target(self) -> ComparedFigure | None:
        """The chance of the target; None where no column has one."""
        if not any(column.figures.target for column in self.columns):
            return None
        return self._row("Chance of the target", lambda figures: figures.target, _chance_cell)

    @property
    def dates(self) -> tuple[ComparedForecast, ...]:
        """By forecast: when it is ready, the chance of the target, the person-hours left together."""
        target = self.target
        return self._lines((*self.finish, *((target,) if target else ()), replace(self.hours[0], what="Hours left")))

    @property
    def work(self) -> tuple[ComparedForecast, ...]:
        """By forecast: person-hours left, together and by kind of work."""
        return self._lines(self.hours)

    def _lines(self, rows: Sequence[ComparedFigure]) -> tuple[ComparedForecast, ...]:
        return tuple(
            ComparedForecast(column.name, tuple((row.what, row.cells[number]) for row in rows))
            for number, column in enumerate(self.columns)
        )

    @property
    def hours(self) -> tuple[ComparedFigure, ...]:
        """Person-hours left in half of the trials: together, then by kind of work."""
        kinds = [kind for kind in WORK if any(_left(kind)(column.figures) for column in self.columns)]
        pairs = [("Together", "total"), *((str(kind), str(kind)) for kind in kinds)]
        return tuple(self._row(what, _left(key), _hours_cell) for what, key in pairs)

    def _row(
        self, what: str, of: Callable[[KeyFigures], T], cell: Callable[[T, T, bool], ComparedCell]
    ) -> ComparedFigure:
        return ComparedFigure(
            what,
            tuple(
                cell(of(column.figures), of(column.against or column.figures), column.against is None)
                for column in self.columns
            ),
        )


def _ready(sure: int) -> Callable[[KeyFigures], datetime | None]:
    return lambda figures: figures.finish.at(sure)


def _left(kind: str) -> Callable[[KeyFigures], float]:
    return lambda figures: figures.labour_hours_left[kind].p50


def _date_cell(moment: datetime | None, today: datetime | None, first: bool) -> ComparedCell:
    text = f"{moment:%a} {moment.day} {moment:%b %Y}" if moment else "not within the shifts noted"
    if first or (moment is None and today is None):
        return ComparedCell(text)
    if moment is None or today is None:
        return ComparedCell(text, "has a date now" if moment else "has no date any more", moment is not None)
    days = (moment.date() - today.date()).days
    if days == 0:
        return ComparedCell(text, "the same day")
    return ComparedCell(text, f"{abs(days)} day{'s' * (abs(days) != 1)} {'later' if days > 0 else 'sooner'}", days < 0)


def _chance_cell(target: Target | None, today: Target | None, first: bool) -> ComparedCell:
    if target is None:
        return ComparedCell("no target")
    date, sure = target.date, target.percent
    text = f"{sure} %"
    if today is None or today.date != date:
        return ComparedCell(text, "" if first else f"for {date:%a} {date.day} {date:%b}")
    more = sure - today.percent
    return (
        ComparedCell(text)
        if first
        else ComparedCell(text, _signed(f"{more:+d} points") if more else "no change", _sooner(-more))
    )


def _hours_cell(hours: float, today: float, first: bool) -> ComparedCell:
    text, more = f"{hours:.1f} h", round(hours - today, 1)
    return (
        ComparedCell(text)
        if first
        else ComparedCell(text, _signed(f"{more:+.1f} h") if more else "no change", _sooner(more))
    )


def _sooner(more: float) -> bool | None:
    return None if not more else more < 0


def _signed(text: str) -> str:
    return text.replace("-", "−")
