"""When helpers are there: shifts to come, days already seen, local days. All in UTC; clock changes do no harm."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from buildlog.core.forecast.input import Helper, Shift, World, moment_of


def local_day(moment: float, time_zone: str) -> int:
    """The ordinal of the local date of a moment."""
    return moment_of(moment).astimezone(ZoneInfo(time_zone)).date().toordinal()


def coming(helper: Helper, as_of: float) -> tuple[Shift, ...]:
    """What is left of a helper's shifts after a moment, in order, overlaps joined."""
    left = (Shift(max(shift.start, as_of), shift.end, shift.day) for shift in helper.shifts if shift.end > as_of)
    return tuple(_joined(sorted(left, key=lambda shift: (shift.start, shift.end))))


def _joined(shifts: Iterable[Shift]) -> Iterable[Shift]:
    before: Shift | None = None
    for shift in shifts:
        if before is not None and shift.start < before.end:
            before = Shift(before.start, max(before.end, shift.end), before.day)
            continue
        if before is not None:
            yield before
        before = shift
    if before is not None and before.end > before.start:
        yield before


def known_days(world: World) -> frozenset[tuple[int, int]]:
    """(helper, day) of today for those who have been at work on it: they came."""
    today = local_day(world.as_of, world.time_zone)
    there = {
        helper for stint in world.stints if local_day(stint.start, world.time_zone) == today for helper in stint.helpers
    }
    return frozenset((helper, today) for helper in there)


def hours_known(world: World) -> float:
    """Person-hours of shifts to come in all."""
    return sum(s.end - s.start for helper in world.helpers for s in coming(helper, world.as_of))


def last_known(world: World) -> float | None:
    """When the last known shift ends."""
    ends = [shift.end for helper in world.helpers for shift in coming(helper, world.as_of)]
    return max(ends, default=None)


def iso(moment: float, time_zone: str) -> str:
    """A moment as ISO 8601 with the offset of the build's own zone, to the minute."""
    local = (moment_of(moment) + timedelta(seconds=30)).astimezone(ZoneInfo(time_zone))
    return local.isoformat(timespec="minutes")


def day_text(moment: float, zone: str) -> str:
    """A date as people say it, with its weekday: Fri 12 June 2026."""
    local: datetime = moment_of(moment).astimezone(ZoneInfo(zone))
    return f"{local:%a} {local.day} {local:%B} {local.year}"
