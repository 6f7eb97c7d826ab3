"""How wrong PINs and passwords are slowed and locked: by the times of the wrong tries alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

Limits = tuple[tuple[int, timedelta, str], ...]
LIMITS: Limits = ((5, timedelta(minutes=15), "15 minutes"), (10, timedelta(days=1), "a day"))
# A password is no six digits: it cannot be tried through, and nobody should lock a lead out for a day.
PASSWORD_LIMITS: Limits = LIMITS[:1]
# All names and all browsers that are not known here together: a hash is slow on purpose, and ticks would wait for it.
SITE_LIMITS: Limits = ((2, timedelta(seconds=10), "10 s"),)
LONGEST_SPAN = max(span for _, span, _ in LIMITS)
# A try later than now was counted by a clock that was put right since, or a moment ago by another process.
AHEAD = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Lock:
    """Too many wrong tries: how many within which time, and until when none is taken."""

    tries: int
    within: str
    until: datetime


def lock_of(wrong: Sequence[datetime], now: datetime, limits: Limits = LIMITS) -> Lock | None:
    """The lock that wrong tries at these moments make now, in whatever order they are given; None when there is none.

    >>> noon = datetime(2026, 3, 2, 12)
    >>> lock_of([noon] * 5, noon + timedelta(minutes=3)).until
    datetime.datetime(2026, 3, 2, 12, 15)
    """
    locks = [
        Lock(most, words, sorted(recent)[-most] + span)
        for most, span, words in limits
        if len(recent := _within(wrong, now, span)) >= most
    ]
    return max(locks, key=lambda lock: lock.until, default=None)


def wait_after(wrong: Sequence[datetime], now: datetime) -> timedelta:
    """How long until the next try is taken: 1, 2, 4, 8 s after the last of one, two, three, four wrong tries."""
    recent = _within(wrong, now, LIMITS[0][1])
    if not recent:
        return timedelta(0)
    return max(timedelta(0), max(recent) + timedelta(seconds=2 ** (len(recent) - 1)) - now)


def tries_left(wrong: Sequence[datetime], now: datetime, limits: Limits = LIMITS) -> int:
    """How many more wrong tries there are before the lock."""
    return max(0, min(most - len(_within(wrong, now, span)) for most, span, _ in limits))


def _within(wrong: Sequence[datetime], now: datetime, span: timedelta) -> list[datetime]:
    """Those that count now: not longer ago than the span, and not of a clock that ran ahead."""
    return [at for at in wrong if now - span < at <= now + AHEAD]
