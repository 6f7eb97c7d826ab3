"""When somebody would come: on days of the week or on one day, from one time of the clock until another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.forecast.input import ShiftInput, hours_of, moment_of
from buildlog.core.wording import _, listed

HORIZON = timedelta(days=400)  # how far a weekly time without a last day is believed


@dataclass(frozen=True, slots=True)
class Times:
    """From ``start`` until ``end`` (at or before the start: the next day's), on the build's own clock.

    Every week on ``weekdays`` (0 = Monday) up to ``last_day`` (None: as far as is looked ahead), or on ``day`` alone.
    Raises Refused when it has neither, or ends when it starts.
    """

    start: time
    end: time
    weekdays: tuple[int, ...] = ()
    day: date | None = None
    last_day: date | None = None

    def __post_init__(self) -> None:
        if not self.weekdays and self.day is None:
            raise Refused(Problem(_("No day is given: choose days of the week, or one date."), "days"))
        for field, day in (("day", self.day), ("last_day", self.last_day)):
            try:
                cells.near(day or date(2000, 1, 1))
            except Unreadable as wrong:
                raise Refused(Problem(wrong.sentence, field)) from wrong
        if self.start == self.end:
            raise Refused(Problem(_("It ends when it starts: give another time."), "until"))

    def __str__(self) -> str:
        clock = f"{self.start:%H:%M}–{self.end:%H:%M}"
        if self.day is not None:
            return f"{_date(self.day)} {clock}"
        names = listed([cells.DAYS[day][:3].capitalize() for day in self.weekdays])
        until = f", until {_date(self.last_day)}" if self.last_day else ""
        return f"{names if len(self.weekdays) < 7 else 'every day'} {clock}{until}"

    def shifts(self, as_of: float, zone: ZoneInfo) -> tuple[ShiftInput, ...]:
        """All of them that end after a moment [h UTC], without any that the clocks skip."""
        today = moment_of(as_of).astimezone(zone).date()
        spells = ((day, cells.shift(day, self.start, self.end, zone)) for day in self._days(today))
        spans = (ShiftInput(hours_of(begin), hours_of(end), day.toordinal()) for day, (begin, end) in spells)
        return tuple(shift for shift in spans if shift.end > max(as_of, shift.start))

    def _days(self, today: date) -> Iterator[date]:
        if self.day is not None:
            yield self.day
            return
        last = min(self.last_day or today + HORIZON, today + HORIZON)
        day = today - timedelta(days=1)  # a shift that began yesterday evening may still be on
        while day <= last:
            if day.weekday() in self.weekdays:
                yield day
            day += timedelta(days=1)

    def as_json(self) -> dict[str, Any]:
        return {
            "from": f"{self.start:%H:%M}",
            "until": f"{self.end:%H:%M}",
            "weekdays": [*self.weekdays],
            "day": self.day.isoformat() if self.day else None,
            "last_day": self.last_day.isoformat() if self.last_day else None,
        }

    @classmethod
    def of_json(cls, stored: Mapping[str, Any]) -> Times:
        return cls(
            time.fromisoformat(stored["from"]),
            time.fromisoformat(stored["until"]),
            tuple(stored["weekdays"]),
            date.fromisoformat(stored["day"]) if stored["day"] else None,
            date.fromisoformat(stored["last_day"]) if stored["last_day"] else None,
        )


def _date(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
