"""Slow hashes: two at once on all servers of this installation together, one of them kept for those known here.

A hash takes a tenth of a second of every processor and 100 MB on purpose. Somebody who guesses from many browsers would
have as many worked out at once, and ticks would wait. The slots are rows, so that several servers share them.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from django.db.models import Q, QuerySet

from buildlog.core.errors import Busy
from buildlog.core.wording import Sentence, _
from buildlog.models import HashSlot

SLOTS = (1, 2)
FOR_STRANGERS = SLOTS[:1]
LONGEST = timedelta(seconds=10)  # a server that died in the middle lets go after that
PATIENCE = timedelta(seconds=3)  # of somebody known here; strangers are refused at once
LOOK_EVERY_S = 0.05
NEVER = datetime(1970, 1, 1, tzinfo=UTC)


@contextmanager
def hash_slot(*, known: bool, now: datetime) -> Iterator[None]:
    """Work one slow hash out inside. Raises Busy when there is no room."""
    slot = _wait_for(now) if known else take(known=False, now=now)
    if slot is None:
        raise Busy(Sentence(_("Too many sign-ins at the moment.")), retry_after_s=2)
    try:
        yield
    finally:
        HashSlot.objects.filter(number=slot).update(taken_until=NEVER)


def take(*, known: bool, now: datetime) -> int | None:
    """The number of a slot that is this caller's from now on; None when none is free."""
    numbers = SLOTS if known else FOR_STRANGERS
    if HashSlot.objects.count() < len(SLOTS):
        HashSlot.objects.bulk_create([HashSlot(number=n, taken_until=NEVER) for n in SLOTS], ignore_conflicts=True)
    for number in _free(now).filter(number__in=numbers).order_by("-number").values_list("number", flat=True):
        if _free(now).filter(number=number).update(taken_until=now + LONGEST):  # another may have been faster
            return number
    return None


def _free(now: datetime) -> QuerySet[HashSlot]:
    """Those whose time is over; one that lasts much longer than any was taken before the clock was set back. A little
    longer it lasts where this request read the clock first and came to the slot second."""
    return HashSlot.objects.filter(Q(taken_until__lte=now) | Q(taken_until__gt=now + 2 * LONGEST))


def _wait_for(now: datetime) -> int | None:
    begun = time.monotonic()
    while (waited := timedelta(seconds=time.monotonic() - begun)) < PATIENCE:
        if slot := take(known=True, now=now + waited):
            return slot
        time.sleep(LOOK_EVERY_S)
    return None
