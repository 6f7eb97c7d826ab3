"""Numbers and lists in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence


def counted(number: int, word: str) -> str:
    """A count in groups of three with its word, one or several.

    >>> counted(12480, "pixel"), counted(1, "person-hour")
    ('12,480 pixels', '1 person-hour')
    """
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"


def person_hours(hours: float) -> str:
    """Whole person-hours, rounded up: what is missing is never said too small.

    >>> person_hours(0.4), person_hours(17.2)
    ('1 person-hour', '18 person-hours')
    """
    return counted(math.ceil(hours - 1e-9), "person-hour")


def percent_below(share: float) -> int:
    """Whole points, rounded down: 79.8 % is not 80 % sure.

    >>> percent_below(0.798), percent_below(0.8)
    (79, 80)
    """
    return math.floor(100 * share + 1e-9)


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words one after the other, as people say them.

    >>> listed(["Sat", "Sun"]), listed(["a", "b", "c"]), listed([])
    ('Sat and Sun', 'a, b and c', '')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
