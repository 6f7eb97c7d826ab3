"""Moments worth naming along an edge: hours, days, Mondays or months, whichever are enough and have room."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain
from zoneinfo import ZoneInfo

HOURS = (1, 2, 3, 4, 6, 8, 12)
DAYS = (1, 2, 3, 4)
WEEKS = (1, 2, 3, 4, 6)
MONTHS = (1, 2, 3, 4, 6, 8, 12, 18, 24, 36, 60, 120, 600)
ENOUGH = 3  # names, by which an edge is read
MOST = 400  # steps are not tried that would give far more than any drawing names


@dataclass(frozen=True, slots=True)
class AxisTick:
    moment: datetime
    text: str


Ticks = tuple[AxisTick, ...]
Naming = Callable[[datetime, ZoneInfo], str]


def ticks(begin: datetime, end: datetime, zone: ZoneInfo, named: Callable[[Ticks], Ticks]) -> Ticks:
    """The finest steps that have room: days with their weekday, without it, then hours; the first that are enough.

    ``named`` gives those of some ticks that can be named, and none where they would cover one another.
    """
    best: Ticks = ()
    dates = (_dates(begin, end, zone, name) for name in (day_name, short_day))
    hours = (_hours(begin, end, zone, dated) for dated in (True, False))
    for some in chain(*dates, *hours):
        named_ticks = named(some)
        if len(named_ticks) >= ENOUGH:
            return named_ticks
        best = max(best, named_ticks, key=len)
    return best


def day_name(moment: datetime, zone: ZoneInfo) -> str:
    """Sat 19 Dec."""
    return f"{moment.astimezone(zone):%a} {short_day(moment, zone)}"


def short_day(moment: datetime, zone: ZoneInfo) -> str:
    """19 Dec."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b}"


def _dates(begin: datetime, end: datetime, zone: ZoneInfo, name: Naming) -> Iterator[Ticks]:
    """Local midnights some days apart, then Mondays, then the first of months or of years: the finest first."""
    first, last = begin.astimezone(zone).date() + timedelta(days=1), end.astimezone(zone).date()
    monday = first + timedelta(days=-first.weekday() % 7)
    for start, step in [*((first, days) for days in DAYS), *((monday, 7 * weeks) for weeks in WEEKS)]:
        if (last - start).days < step * MOST:
            midnights = (datetime.combine(day, time(), zone) for day in _every(start, last, step))
            yield tuple(AxisTick(moment, name(moment, zone)) for moment in midnights)
    for months in MONTHS:
        firsts = (datetime.combine(day, time(), zone) for day in _firsts(first, last, months))
        yield tuple(AxisTick(moment, f"{moment:%Y}" if months % 12 == 0 else f"{moment:%b %Y}") for moment in firsts)


def _every(first: date, last: date, step: int) -> Iterator[date]:
    return (first + timedelta(days=days) for days in range(0, (last - first).days + 1, step))


def _firsts(first: date, last: date, step: int) -> Iterator[date]:
    """The first day of every so many months, in step with the year."""
    for month in range(12 * first.year, 12 * last.year + 12):
        day = date(month // 12, month % 12 + 1, 1)
        if month % step == 0 and first <= day <= last:
            yield day


def _hours(begin: datetime, end: datetime, zone: ZoneInfo, dated: bool) -> Iterator[Ticks]:
    """Full hours; midnight is named by its day, and so is the first, unless it need not be and a midnight follows."""
    for step in HOURS:
        if (end - begin) / timedelta(hours=step) < MOST:
            yield tuple(_named_hours(list(_clock(begin, end, zone, step)), zone, dated))


def _clock(begin: datetime, end: datetime, zone: ZoneInfo, step: int) -> Iterator[datetime]:
    """What clocks on the wall show; an hour that they leave out comes once."""
    first, last = begin.astimezone(zone).date(), end.astimezone(zone).date()
    shown = (
        datetime.combine(day, time(hour), zone).astimezone(UTC)
        for day in _every(first, last, 1)
        for hour in range(0, 24, step)
    )
    return (moment.astimezone(zone) for moment in dict.fromkeys(shown) if begin <= moment <= end)


def _named_hours(moments: list[datetime], zone: ZoneInfo, dated: bool) -> Iterator[AxisTick]:
    dated = dated or not any(f"{moment:%H:%M}" == "00:00" for moment in moments)
    for number, moment in enumerate(moments):
        day, clock = short_day(moment, zone), f"{moment:%H:%M}"
        yield AxisTick(moment, day if clock == "00:00" else clock if number or not dated else f"{day} {clock}")
