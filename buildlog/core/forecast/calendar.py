"""When helpers are there: shifts to come, days already seen, local days, and work assigned beyond the shifts.

Moments are hours since 1970-01-01 00:00 UTC, days ordinals of local dates; clock changes do no harm.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from buildlog.core.forecast.input import ForecastInput, Helper, ShiftInput, moment_of
from buildlog.core.work.stages import STAGES


def local_day(moment: float, time_zone: str) -> int:
    """The ordinal of the local date of a moment."""
    return moment_of(moment).astimezone(ZoneInfo(time_zone)).date().toordinal()


def shifts_to_come(helper: Helper, as_of: float) -> tuple[ShiftInput, ...]:
    """What is left of a helper's shifts after a moment, in order, overlaps joined."""
    left = (ShiftInput(max(shift.start, as_of), shift.end, shift.day) for shift in helper.shifts if shift.end > as_of)
    return tuple(_joined(sorted(left, key=lambda shift: (shift.start, shift.end))))


def _joined(shifts: Iterable[ShiftInput]) -> Iterable[ShiftInput]:
    before: ShiftInput | None = None
    for shift in shifts:
        if before is not None and shift.start < before.end:
            before = ShiftInput(before.start, max(before.end, shift.end), before.day)
            continue
        if before is not None:
            yield before
        before = shift
    if before is not None and before.end > before.start:
        yield before


def known_days(inputs: ForecastInput) -> frozenset[tuple[int, int]]:
    """(helper, day) of today for those who have been at work on it: they came."""
    today = local_day(inputs.as_of, inputs.time_zone)
    there = {
        helper
        for stint in inputs.stints
        if local_day(stint.start, inputs.time_zone) == today
        for helper in stint.helpers
    }
    return frozenset((helper, today) for helper in there)


def last_known(inputs: ForecastInput) -> float | None:
    """When the last known shift ends."""
    ends = [shift.end for helper in inputs.helpers for shift in shifts_to_come(helper, inputs.as_of)]
    return max(ends, default=None)


def overassigned(inputs: ForecastInput) -> dict[int, tuple[float, float]]:
    """Helper → (hours of work assigned to them at standard rates, hours of their shifts to come) where that is more."""
    work: dict[int, float] = {}
    for segment in inputs.segments:
        if segment.assigned is not None:
            skills = inputs.helpers[segment.assigned].skills
            hours = sum(
                segment.left(n) / inputs.standard.rate(n) for n, stage in enumerate(STAGES) if stage.value in skills
            )
            work[segment.assigned] = work.get(segment.assigned, 0.0) + hours
    there = {who: sum(s.end - s.start for s in shifts_to_come(inputs.helpers[who], inputs.as_of)) for who in work}
    return {who: (hours, there[who]) for who, hours in work.items() if hours > there[who]}


def iso(moment: float, time_zone: str) -> str:
    """A moment as ISO 8601 with the offset of the build's own zone, to the minute."""
    local = (moment_of(moment) + timedelta(seconds=30)).astimezone(ZoneInfo(time_zone))
    return local.isoformat(timespec="minutes")


def day_text(moment: float, zone: str) -> str:
    """A date with its weekday: Fri 12 June 2026."""
    local: datetime = moment_of(moment).astimezone(ZoneInfo(zone))
    return f"{local:%a} {local.day} {local:%B} {local.year}"


def day_of(moment: float, zone: str) -> str:
    """The local date of a moment, ISO 8601."""
    return moment_of(moment).astimezone(ZoneInfo(zone)).date().isoformat()
