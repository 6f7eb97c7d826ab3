"""One cell of a lead's table: numbers, days and times, as people write them. A wrong one raises ValueError with the
sentence that belongs beside it."""

from __future__ import annotations

import re
from bisect import bisect
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from buildlog.core.errors import Unreadable
from buildlog.core.wording import Sentence, _

THOUSANDS = re.compile(r"[+-]?\d{1,3}([.,' \u00a0\u202f])\d{3}(\1\d{3})*")
PLAIN_WHOLE = re.compile(r"[+-]?\d{1,100}")  # Python reads no more than 4300 digits
PLAIN_DECIMAL = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def whole(text: str, least: int, most: int = 10_000_000) -> int:
    """A whole number from least to most.

    >>> whole("40", 1)
    40
    """
    if THOUSANDS.fullmatch(text):
        digits, groups = re.sub(r"[^\d+-]", "", text), len(re.findall(r"\d+", text))
        if groups > 2:  # two marks cannot both be a decimal point
            raise Unreadable(_("{text!r} has marks between its thousands: write {digits}."), text=text, digits=digits)
        as_decimal = re.sub(r"[^\d+-]", ".", text).rstrip("0").rstrip(".")
        raise Unreadable(
            _("{text!r} could be {as_decimal} or {digits}: write {digits} if that is meant."),
            text=text,
            as_decimal=as_decimal,
            digits=digits,
        )
    if not PLAIN_WHOLE.fullmatch(text):
        raise Unreadable(_not_whole(text))
    number = int(text)
    if not least <= number <= most:
        raise Unreadable(
            _("{text!r} is out of range: a whole number from {least} to {most} is needed."),
            text=text,
            least=least,
            most=most,
        )
    return number


def _not_whole(text: str) -> Sentence:
    if not text:
        return Sentence(_("Nothing is there: a whole number is needed."))
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return Sentence(_("{text!r} is not a number: a whole number is needed, like 40."), text=text)
    if number.is_integer() and abs(number) < 1e9:
        return Sentence(_("{text!r} is not written as a whole number: write {number}."), text=text, number=int(number))
    return Sentence(
        _("{text!r} is not whole: a whole number is needed, like {number}."),
        text=text,
        number=round(number) if abs(number) < 1000000000.0 else 40,
    )


def decimal(text: str, least: float, most: float = 1e9) -> float:
    """A number with a decimal point or comma, from least to most.

    >>> decimal("1812,5", 0)
    1812.5
    """
    if not text:
        raise Unreadable(_("Nothing is there: a number is needed."))
    if not PLAIN_DECIMAL.fullmatch(text):
        raise Unreadable(_("{text!r} is not a plain number: write it like 1812.5, without thousands marks."), text=text)
    number = float(text.replace(",", "."))
    if not least <= number <= most:
        raise Unreadable(
            _("{text!r} is out of range: a number from {least:g} to {most:g} is needed."),
            text=text,
            least=least,
            most=most,
        )
    return number


FIRST_YEAR, LAST_YEAR = 1990, 2199


def day(text: str) -> date:
    """A day as YYYY-MM-DD.

    >>> day("2026-05-02")
    datetime.date(2026, 5, 2)
    """
    if match := re.fullmatch(r"(\d{1,2})[./](\d{1,2})[./](\d{4})", text):
        first, second, year = match.groups()
        raise Unreadable(
            _("{text!r}: is the day or the month first? Write {year}-{second:0>2}-{first:0>2}."),
            text=text,
            year=year,
            second=second,
            first=first,
        )
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise Unreadable(_("{text!r} is not a day: write it like 2026-05-02."), text=text)
    try:
        read = date.fromisoformat(text)
    except ValueError:
        raise Unreadable(_("There is no day {text!r} in the calendar."), text=text) from None
    return near(read)


def near(day: date) -> date:
    """A day of a year in which things are built; one that was mistyped would be drawn, and counted up to."""
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Unreadable(
            _("Found the year {year}: give one from {first_year} to {last_year}."),
            year=day.year,
            first_year=FIRST_YEAR,
            last_year=LAST_YEAR,
        )
    return day


def clock(text: str) -> time:
    """A time of day: 09:00, 9:00, 9.30, 09:00:30.

    >>> clock("9.30")
    datetime.time(9, 30)
    """
    match = re.fullmatch(r"(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?", text)
    try:
        hour, minute, second = (int(part or 0) for part in match.groups()) if match else (99, 0, 0)
        return time(hour, minute, second)
    except ValueError:
        raise Unreadable(_("{text!r} is not a time of day: write it like 09:30."), text=text) from None


def weekday(text: str) -> int:
    """A day of the week by its English name or first three letters; 0 = Monday.

    >>> weekday("Sat")
    5
    """
    matches = [number for number, name in enumerate(DAYS) if len(text) >= 3 and name.startswith(text.lower())]
    if len(matches) != 1:
        raise Unreadable(_("{text!r} is not a weekday: write Monday or Mon, … Sunday or Sun."), text=text)
    return matches[0]


def moment(text: str, zone: ZoneInfo) -> datetime:
    """An ISO 8601 time with its offset, or `YYYY-MM-DD HH:MM` in the build's zone; returned in UTC.

    A local time that a clock change makes doubtful is refused: written with its offset it is clear.
    """
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        read = None
    if read is None or len(text) <= 10:
        raise Unreadable(_("{text!r} is not a time: write it like 2026-05-02 09:00."), text=text) from None
    near(read)
    return read.astimezone(UTC) if read.tzinfo else in_zone(read, zone)


def in_zone(local: datetime, zone: ZoneInfo) -> datetime:
    """A local time of the build in UTC; refused when the clock change skips it or has it twice."""
    first, second = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(UTC)  # neither skipped nor doubled (PEP 495)
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != local:
        raise Unreadable(
            _("{local:%Y-%m-%d %H:%M} does not exist in {key}: the clocks skip it on that day."),
            local=local,
            key=zone.key,
        )
    earlier, later = first.isoformat(timespec="minutes"), second.isoformat(timespec="minutes")
    raise Unreadable(
        _("{local:%Y-%m-%d %H:%M} comes twice in {key}: write {one} or {other}."),
        local=local,
        key=zone.key,
        one=earlier,
        other=later,
    )


def shift(start_day: date, start: time, end: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """A shift in UTC; an end at or before the start is the next day's. In a doubled hour it is the longer reading.

    A time that the clocks skip is the moment at which they do: what lies in the skipped hour alone takes no time.

    >>> [f"{at:%H:%M}" for at in shift(date(2026, 3, 29), time(1, 45), time(2, 15), ZoneInfo("Europe/Oslo"))]
    ['00:45', '01:00']
    """
    end_day = start_day if end > start else date.fromordinal(start_day.toordinal() + 1)
    return _shown(datetime.combine(start_day, start), zone, 0), _shown(datetime.combine(end_day, end), zone, 1)


def _shown(local: datetime, zone: ZoneInfo, fold: int) -> datetime:
    """When a clock of the zone shows this, the first or the second time; or is set past it."""
    shown, late, early = (local.replace(tzinfo=zone, fold=reading).astimezone(UTC) for reading in (fold, 0, 1))
    if shown.astimezone(zone).replace(tzinfo=None) == local:
        return shown
    seconds, before = range(1, round((late - early).total_seconds()) + 1), early.astimezone(zone).utcoffset()

    def is_after(second: int) -> bool:
        return (early + timedelta(seconds=second)).astimezone(zone).utcoffset() != before

    skipped = bisect(seconds, False, key=is_after)
    return early + timedelta(seconds=skipped + 1)


def several(text: str) -> tuple[str, ...]:
    """What stands between semicolons.

    >>> several("populate; mount;")
    ('populate', 'mount')
    """
    return tuple(part.strip() for part in text.split(";") if part.strip())
