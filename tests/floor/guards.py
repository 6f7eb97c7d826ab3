"""The guards of the server side, each taken away on purpose."""

from __future__ import annotations

import os
import random
import signal
import time
import uuid
from contextlib import nullcontext
from dataclasses import replace
from types import SimpleNamespace

from buildlog.actions import arrivals, ticks
from buildlog.models import Segment, prepared_sql


def without_id() -> None:
    """An entry that comes again is taken for a new one."""
    decide = arrivals._decide

    def forgetful(letter, register):
        fresh = replace(letter, envelope=replace(letter.envelope, id=uuid.uuid4()))
        return replace(decide(fresh, register), id=str(letter.envelope.id))

    arrivals._decide = forgetful


def without_one_transaction() -> None:
    """Every statement is committed by itself, and every other worker dies between the sums and their entries."""
    append = prepared_sql.append_entries

    def dying(rows):
        if random.random() < 0.5:
            os.kill(os.getpid(), signal.SIGKILL)
        append(rows)

    prepared_sql.append_entries = dying
    ticks.lock = arrivals.lock = lambda build: None
    arrivals.transaction = SimpleNamespace(atomic=nullcontext)


def without_lock() -> None:
    """Sums are read, added up here and written back, with nobody waiting for anybody."""

    def naive(stage, segment_id, pixels):
        seen = Segment.objects.get(pk=segment_id)
        time.sleep(0.01)
        Segment.objects.filter(pk=segment_id).update(**{stage.done: getattr(seen, stage.done) + pixels})

    prepared_sql.add_pixels = naive
    ticks.lock = arrivals.lock = lambda build: None


def without_age() -> None:
    """The tablet's clock is believed."""
    arrivals.happened_at = lambda now, sent_at, made_at, not_before: made_at


TAKEN_AWAY = {"age": without_age, "id": without_id, "transaction": without_one_transaction, "lock": without_lock}
