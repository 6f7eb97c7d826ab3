"""Parts of a what-if as they are typed in one line. What cannot be read raises Unreadable with its sentence."""

from __future__ import annotations

import re
from datetime import date

from buildlog.core import cells
from buildlog.core.errors import Refused, Unreadable
from buildlog.core.forecast.questions.request import MOST_HANDS, MoreHands, MoreShifts
from buildlog.core.forecast.questions.times import Times
from buildlog.core.wording import _, any_of
from buildlog.core.work.stages import STAGES

CLOCKS = re.compile(r"(\d{1,2}[:.]\d{2})\s*[-–]\s*(\d{1,2}[:.]\d{2})")
UNTIL = re.compile(r"\buntil\s+(\S+)\s*$")
NO_LIMIT = "none"
HANDS_LIKE = "2 Sat,Sun 10:00-17:00 populate,mount"
SHIFTS_LIKE = "Ines: Sat 10:00-17:00"


def more_hands(text: str) -> MoreHands:
    """How many, when, and what they can (nothing = everything), perhaps until a day.

    >>> str(more_hands("2 Sat,Sun 10:00-17:00 populate"))
    '2 more helpers (populate), Sat and Sun 10:00–17:00'
    """
    head, clocks, rest, last = _cut(text, HANDS_LIKE)
    count, __, days = head.partition(" ")
    skills = tuple(part for part in re.split(r"[,\s]+", rest) if part)
    known = [stage.value for stage in STAGES]
    if wrong := [skill for skill in skills if skill not in known]:
        raise Unreadable(_("{wrong!r} is not a stage: write {known}."), wrong=wrong[0], known=any_of(known))
    return MoreHands(cells.whole(count, 1, MOST_HANDS), _times(days, clocks, last, HANDS_LIKE), skills)


def more_shifts(text: str) -> MoreShifts:
    """Who, a colon, and when.

    >>> str(more_shifts("Ines: 2026-05-02 10:00-17:00"))
    'Ines also comes Sat 2 May 10:00–17:00'
    """
    name, colon, when = text.partition(":")
    if not colon or not name.strip():
        raise Unreadable(
            _("{text!r} does not say who: write it like {shifts_like!r}."), text=text, shifts_like=SHIFTS_LIKE
        )
    days, clocks, rest, last = _cut(when.strip(), SHIFTS_LIKE)
    if rest:
        raise Unreadable(_("{rest!r} is too much: write it like {shifts_like!r}."), rest=rest, shifts_like=SHIFTS_LIKE)
    return MoreShifts(name.strip(), _times(days, clocks, last, SHIFTS_LIKE))


def people(text: str) -> tuple[str, int | None]:
    """A stage and how many fit.

    >>> people("wire=3"), people("test=none")
    (('wire', 3), ('test', None))
    """
    stage, sign, number = (part.strip() for part in text.partition("="))
    known = [each.value for each in STAGES]
    if not sign or stage not in known:
        raise Unreadable(
            _("{text!r}: write a stage ({known}), =, and how many fit, like wire=3."),
            text=text,
            known=any_of(known),
        )
    return stage, None if number == NO_LIMIT else cells.whole(number, 0, 1000)


def _cut(text: str, like: str) -> tuple[str, re.Match[str], str, date | None]:
    """What stands before the times of the clock, these, what stands behind, and the last day."""
    until = UNTIL.search(text)
    last = cells.day(until[1]) if until else None
    text = text[: until.start()] if until else text
    clocks = CLOCKS.search(text)
    if clocks is None:
        raise Unreadable(_("{text!r} has no times like 10:00-17:00: write it like {like!r}."), text=text, like=like)
    return text[: clocks.start()].strip(), clocks, text[clocks.end() :].strip(), last


def _times(days: str, clocks: re.Match[str], last: date | None, like: str) -> Times:
    parts = [part for part in re.split(r"[,\s]+", days) if part]
    if not parts:
        raise Unreadable(_("No day is given: write it like {like!r}, or with a date like 2026-05-02."), like=like)
    start, end = cells.clock(clocks[1]), cells.clock(clocks[2])
    try:
        if parts[0][0].isdigit():
            return Times(start, end, day=cells.day(" ".join(parts)))
        return Times(start, end, tuple(sorted({cells.weekday(part) for part in parts})), last_day=last)
    except Refused as refused:
        raise Unreadable(refused.problems[0].sentence) from refused
