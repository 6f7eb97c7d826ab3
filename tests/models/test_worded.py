"""Statements worded once do what the querysets do that they are worded from."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import F, IntegerField
from django.test.utils import CaptureQueriesContext

from buildlog.models import Arrival, Device, LedgerEntry, Person, Segment
from buildlog.models.worded import Append, Blank, Change, Lookup, Lookups, blank
from tests.people import MONDAY, give_device

pytestmark = pytest.mark.django_db


def columns(row):
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


@pytest.mark.parametrize("model", [Device, Person, Segment, LedgerEntry, Arrival])
def test_a_row_looked_up_is_the_row_of_the_queryset_in_every_column(shed, helper, tick_on_file, model):
    row = model.objects.order_by("pk").first()
    assert columns(Lookup(model.objects.all(), "id")(id=row.pk)) == columns(row)


def test_the_querysets_own_conditions_hold(shed):
    current = Lookup(Segment.objects.current(), "build_id", "code")
    assert current(build_id=shed.pk, code="R1-1") == shed.segments.get(code="R1-1")
    shed.segments.filter(code="R1-1").update(retired_at=MONDAY)
    assert current(build_id=shed.pk, code="R1-1") is None


def test_what_is_looked_for_is_never_part_of_the_statement(shed):
    code = "R1-1' OR '1'='1"
    assert Lookup(Segment.objects.all(), "code")(code=code) is None


def test_a_lookup_is_one_statement_and_can_be_asked_again_with_another_value(shed, helper, other_helper):
    person = Lookup(Person.objects.all(), "id")
    assert person(id=helper.pk) == helper
    with CaptureQueriesContext(connection) as asked:
        assert person(id=other_helper.pk) == other_helper
    assert len(asked) == 1


def test_several_rows_are_one_statement_however_many_are_there(shed, helper, other_helper):
    people = Lookups(Person.objects.all(), "id", 3)
    for asked in ([helper.pk], [other_helper.pk, helper.pk], [helper.pk, 0, other_helper.pk]):
        with CaptureQueriesContext(connection) as statements:
            found = people(asked)
        assert {key: row.name for key, row in found.items()} == {
            row.pk: row.name for row in Person.objects.filter(pk__in=asked)
        }
        assert len(statements) == 1
    assert people([]) == {}


def test_a_row_looked_up_can_be_saved(helper):
    found = Lookup(Person.objects.all(), "id")(id=helper.pk)
    found.initials = "MK"
    found.save()
    helper.refresh_from_db()
    assert helper.initials == "MK"


def test_a_change_adds_to_what_is_there_and_leaves_other_rows_alone(shed):
    add = Change(Segment, "id", wired=F("wired") + Blank("pixels", IntegerField()))
    one = shed.segments.get(code="R1-1")
    add(id=one.pk, pixels=5)
    add(id=one.pk, pixels=-2)
    assert set(shed.segments.filter(wired__gt=0).values_list("code", "wired")) == {("R1-1", 3)}


def test_a_change_writes_times_and_nothing_as_the_field_does(shed):
    device, _ = give_device(shed)
    seen = Change(Device, "id", **{name: blank(Device, name) for name in ("last_seen_at", "clock_offset_s")})
    at = MONDAY + timedelta(hours=3, microseconds=7)
    seen(id=device.pk, last_seen_at=at, clock_offset_s=None)
    device.refresh_from_db()
    assert (device.last_seen_at, device.clock_offset_s) == (at, None)


@pytest.fixture
def tick_on_file(shed, helper):
    """A ledger entry and an arrival, appended."""
    segment, device = shed.segments.get(code="R1-1"), give_device(shed)[0]
    times = {"at": MONDAY, "made_at": MONDAY - timedelta(days=400), "arrived_at": MONDAY}
    entry = LedgerEntry(
        id=uuid.uuid4(), build=shed, segment=segment, stage="wire", pixels=-3, kind="reopen", actor=helper,
        note="Loch größer", fingerprint="f", **times,
    )  # fmt: skip
    arrival = Arrival(
        id=uuid.uuid4(), build=shed, device=device, sequence=2**53 - 1, actor=helper, kind="note",
        body={"says": "孔 'x' %s", "with": [1, None]}, fingerprint="f", outcome="refused", reason="100 %", **times,
    )  # fmt: skip
    Append(LedgerEntry)(entry)
    Append(Arrival)(arrival)
    return entry, arrival


def test_an_appended_row_reads_back_in_every_column(tick_on_file):
    for row in tick_on_file:
        assert columns(type(row).objects.get(pk=row.pk)) == columns(row)


def test_a_key_that_is_taken_is_not_written_over(tick_on_file):
    entry, _ = tick_on_file
    entry.pixels = 8
    with pytest.raises(IntegrityError), transaction.atomic():
        Append(LedgerEntry)(entry)
    assert LedgerEntry.objects.get().pixels == -3
