"""Entries and batches from a device, checked at birth; when something happened, by the age of the entry."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.work.deeds import DeviceEntryKind, Undo
from buildlog.core.work.envelope import (
    EPOCH,
    LARGEST_NUMBER,
    LATEST_MS,
    LONGEST_BATCH,
    MOST_AHEAD,
    Batch,
    Envelope,
    happened_at,
    moment,
    reached,
    read_body,
)

ID, DEVICE = str(uuid4()), str(uuid4())
ENTRY = {"id": ID, "sequence": 1, "actor": "word", "kind": "undo", "made_at": 1500, "data": {"undoes": ID}}
BATCH = {"device": DEVICE, "sent_at": 2000, "entries": [ENTRY, "not read yet"]}
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def refusal(read, raw):
    with pytest.raises(Refused) as refused:
        read(raw)
    (problem,) = refused.value.problems
    return problem.sentence


def test_an_entry_says_who_what_and_when():
    entry = Envelope.read(ENTRY)
    assert (entry.id, entry.sequence, entry.actor, entry.kind) == (UUID(ID), 1, "word", DeviceEntryKind.UNDO)
    assert entry.made_at == EPOCH + timedelta(seconds=1.5)
    assert entry.deed() == Undo(UUID(ID))


@pytest.mark.parametrize(
    "wrong",
    [{"sequence": 0}, {"sequence": LARGEST_NUMBER + 1}, {"actor": "x" * 401}, {"kind": "shout"}, {"made_at": -1},
     {"made_at": LATEST_MS + 1}, {"data": []}, {"id": "x"}],
)  # fmt: skip
def test_an_entry_that_is_none_is_refused_by_its_field(wrong):
    assert refusal(Envelope.read, ENTRY | wrong).values["name"] == next(iter(wrong))


@pytest.mark.parametrize(
    "also", [{"sequence": LARGEST_NUMBER}, {"actor": "x" * 400}, {"made_at": 0}, {"made_at": LATEST_MS}]
)
def test_what_is_just_allowed(also):
    assert Envelope.read(ENTRY | also)


def test_the_largest_numbers_are_those_of_scripts_and_calendars():
    """ECMA-262, Number.MAX_SAFE_INTEGER; datetime's last year is 9999 (Python, datetime.MAXYEAR)."""
    assert LARGEST_NUMBER == 9007199254740991
    assert moment(LATEST_MS) == datetime(9999, 12, 31, 23, 59, 59, 999000, tzinfo=UTC)


def test_data_are_read_when_somebody_asks():
    entry = Envelope.read(ENTRY | {"data": {}})
    assert refusal(lambda _: entry.deed(), None).template == "The {what} lacks {names}."


def test_a_repeat_has_the_same_fingerprint_whatever_the_order_of_its_data():
    first = Envelope.read(ENTRY | {"data": {"a": 1, "b": 2}})
    again = Envelope.read(ENTRY | {"data": {"b": 2, "a": 1}})
    assert first.fingerprint(UUID(DEVICE), 3) == again.fingerprint(UUID(DEVICE), 3)


@pytest.mark.parametrize("other", [{"sequence": 2}, {"kind": "tick"}, {"made_at": 1501}, {"data": {"undoes": DEVICE}}])
def test_anything_else_has_another_fingerprint(other):
    entry = Envelope.read(ENTRY)
    assert Envelope.read(ENTRY | other).fingerprint(UUID(DEVICE), 3) != entry.fingerprint(UUID(DEVICE), 3)
    assert entry.fingerprint(UUID(DEVICE), 4) != entry.fingerprint(UUID(DEVICE), 3)
    assert entry.fingerprint(UUID(ID), 3) != entry.fingerprint(UUID(DEVICE), 3)


def test_a_batch_keeps_its_entries_unread():
    batch = Batch.read(BATCH)
    assert batch.device == UUID(DEVICE) and batch.sent_at == EPOCH + timedelta(seconds=2)
    assert batch.entries == (ENTRY, "not read yet") and batch.waiting == 2 and batch.oldest_made_at is None
    more = Batch.read(BATCH | {"waiting": 7, "oldest_made_at": 0})
    assert (more.waiting, more.oldest_made_at) == (7, EPOCH)


@pytest.mark.parametrize(
    "wrong", [{"sent_at": -1}, {"entries": [0] * 26}, {"waiting": -1}, {"oldest_made_at": -1}, {"device": 1}]
)
def test_a_batch_that_is_none(wrong):
    assert refusal(Batch.read, BATCH | wrong).values["name"] == next(iter(wrong))


def test_a_batch_of_most_entries():
    assert LONGEST_BATCH == 25 and len(Batch.read(BATCH | {"entries": [0] * 25}).entries) == 25


def test_a_number_that_nobody_can_have_come_to_does_not_move_the_row_on():
    assert reached(7, []) == 7 and reached(7, [3]) == 7 and reached(7, [9, 8]) == 9
    assert reached(7, [7 + MOST_AHEAD]) == 7 + MOST_AHEAD
    assert reached(7, [7 + MOST_AHEAD + 1]) == 7
    assert reached(7, [9, 9 + MOST_AHEAD]) == 9 + MOST_AHEAD


@pytest.mark.parametrize("body", [b"", b"{", b"NaN", b'{"a": Infinity}', b"\xff", b"[" * 100_000])
def test_a_body_that_is_not_json(body):
    assert refusal(read_body, body).template.startswith("The body is not JSON")


def test_a_body():
    assert read_body(b'{"a": [1, null]}') == {"a": [1, None]}


@given(st.timedeltas(timedelta(days=-900), timedelta(days=900)), st.timedeltas(timedelta(0), timedelta(hours=20)))
def test_how_far_a_clock_is_off_does_not_matter(off, age):
    assert happened_at(NOON, NOON + off, NOON + off - age, NOON - 20 * HOUR) == NOON - age


def test_a_clock_that_was_set_in_between_makes_nothing_later_than_now_or_earlier_than_the_word():
    assert happened_at(NOON, NOON, NOON + HOUR, NOON - HOUR) == NOON
    assert happened_at(NOON, NOON, NOON - 2 * HOUR, NOON - HOUR) == NOON - HOUR
    assert happened_at(NOON, NOON, EPOCH - timedelta(days=20_000), EPOCH) == EPOCH
    assert happened_at(NOON, NOON, NOON - HOUR, NOON + HOUR) == NOON
