"""Each statement of the hot tick does what a queryset would do: the same row in, the same row out."""

from __future__ import annotations

import uuid
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import F
from django.db.models.functions import Greatest
from django.test.utils import CaptureQueriesContext

from buildlog.core.work.stages import Stage
from buildlog.models import (
    Arrival,
    Build,
    Device,
    LedgerEntry,
    Person,
    Segment,
    SignIn,
    Stint,
    StintMember,
    prepared_sql,
)
from buildlog.models.prepared_sql import Append, Lookup, LookupById
from tests.people import MONDAY, give_device, start_stint

pytestmark = pytest.mark.django_db

STATEMENTS = {name: it for name, it in vars(prepared_sql).items() if isinstance(it, Lookup | LookupById | Append)}
LOOKUPS = sorted(name for name, it in STATEMENTS.items() if isinstance(it, Lookup))
BY_ID = sorted(name for name, it in STATEMENTS.items() if isinstance(it, LookupById))
APPENDS = sorted(name for name, it in STATEMENTS.items() if isinstance(it, Append))
NOBODY = {int: 0, str: "' OR '1'='1", uuid.UUID: uuid.UUID(int=7)}


def columns(row):
    """Every value with its type, as 1 == 1.0 == True."""
    return {field.attname: (value := getattr(row, field.attname), type(value)) for field in row._meta.concrete_fields}


def stored(row):
    """Every value of a row as the database keeps it, with its type there where types are the row's own."""
    of_type = "typeof" if connection.vendor == "sqlite" else "pg_typeof"
    fields = row._meta.concrete_fields
    each = ", ".join(f'"{field.column}", CAST({of_type}("{field.column}") AS text)' for field in fields)
    with connection.cursor() as cursor:
        key = row._meta.pk.get_db_prep_value(row.pk, connection)
        cursor.execute(f'SELECT {each} FROM "{row._meta.db_table}" WHERE "{row._meta.pk.column}" = %s', [key])
        return cursor.fetchone()


def unsaved(kind, shed, helper):
    """A ledger entry or an arrival with something in every column that is hard to keep."""
    segment, device, undone = shed.segments.get(code="R1-1"), shed.devices.first(), shed.entries.first()
    times = {"at": MONDAY, "made_at": MONDAY - timedelta(days=400, microseconds=7), "arrived_at": MONDAY}
    if kind is LedgerEntry:
        return LedgerEntry(
            id=uuid.uuid4(), build=shed, segment=segment, stage="wire", pixels=-3, kind="undo", actor=helper,
            note="Loch größer", fingerprint="f", undoes=undone, stint=shed.stints.first(), **times,
        )  # fmt: skip
    return Arrival(
        id=uuid.uuid4(), build=shed, device=device, sequence=2**53 - 1, actor=helper, kind="note",
        body={"says": "孔 'x' %s", "with": [1, None, 0.1]}, fingerprint="f", outcome="refused", reason="100 %", **times,
    )  # fmt: skip


@pytest.fixture
def busy(shed, helper, other_helper):
    """Rows in every table that a tick looks at, with and without what may be missing."""
    shed.target_at, shed.label_layout = MONDAY + timedelta(days=90, microseconds=5), {"rows": [1, 2.5, None, "ä"]}
    shed.save()
    device, _ = give_device(shed)
    give_device(shed, "Tablet 2")
    Device.objects.filter(pk=device.pk).update(last_sequence=40, unread=[3, 5], clock_offset_s=-1.0)
    shed.segments.filter(code="R1-2").update(retired_at=MONDAY, assigned_to=helper, wired=3)
    for ended_at in (None, MONDAY):
        helper.sign_ins.create(
            device=device, name="Tablet", session_key="k", began_at=MONDAY, last_seen_at=MONDAY, ended_at=ended_at
        )
    start_stint(helper, segment=shed.segments.get(code="R1-1"))
    for undoes in (None, LedgerEntry.objects.first):
        entry = unsaved(LedgerEntry, shed, helper)
        entry.undoes = undoes and undoes()
        entry.save()
    unsaved(Arrival, shed, other_helper).save()
    return shed


def asked_for(name, row):
    return {field: getattr(row, field) for field in STATEMENTS[name].by}


@pytest.mark.parametrize("name", LOOKUPS)
def test_a_row_looked_up_is_the_row_of_the_queryset_in_every_column(busy, name):
    look, seen = STATEMENTS[name], 0
    for row in look.model.objects.all():
        asked = asked_for(name, row)
        if None in asked.values():
            continue
        of_queryset = look.model.objects.filter(**asked)
        if name == "segment_in_force":
            of_queryset = of_queryset.current()
        looked_up = look(**asked)
        seen += looked_up is not None
        assert [columns(each) for each in of_queryset] == [columns(each) for each in (looked_up,) if each]
    assert seen


@pytest.mark.parametrize("name", LOOKUPS)
def test_what_nobody_has_is_not_found_and_never_part_of_the_statement(busy, name):
    row = next(row for row in STATEMENTS[name].model.objects.all() if None not in asked_for(name, row).values())
    for field, value in asked_for(name, row).items():
        assert STATEMENTS[name](**{**asked_for(name, row), field: NOBODY[type(value)]}) is None


def test_a_segment_that_the_plan_no_longer_has_is_not_in_force(busy):
    assert prepared_sql.segment_in_force(build_id=busy.pk, code="R1-1") == busy.segments.get(code="R1-1")
    assert prepared_sql.segment_in_force(build_id=busy.pk, code="R1-2") is None


@pytest.mark.parametrize("name", LOOKUPS)
def test_a_lookup_is_one_statement(busy, name):
    row = STATEMENTS[name].model.objects.first()
    with CaptureQueriesContext(connection) as statements:
        STATEMENTS[name](**asked_for(name, row))
    assert len(statements) == 1


@pytest.mark.parametrize("name", BY_ID)
def test_several_rows_are_one_statement_and_the_rows_of_the_queryset(busy, name):
    look = STATEMENTS[name]
    keys = [*look.model.objects.values_list("pk", flat=True)]
    for asked in (keys, keys[:1], [uuid.uuid4(), *keys], [uuid.uuid4()]):
        with CaptureQueriesContext(connection) as statements:
            rows = look(asked)
        assert len(statements) == 1
        assert {key: columns(row) for key, row in rows.items()} == {
            row.pk: columns(row) for row in look.model.objects.filter(pk__in=asked)
        }
    assert look([]) == {}


def test_a_row_looked_up_can_be_saved(helper):
    person = prepared_sql.person_of_build(build_id=helper.build_id, id=helper.pk)
    person.initials = "MK"
    person.save()
    helper.refresh_from_db()
    assert helper.initials == "MK"


@pytest.mark.parametrize("name", APPENDS)
def test_an_appended_row_is_stored_like_a_saved_one_and_reads_back_in_every_column(busy, other_helper, name):
    append = STATEMENTS[name]
    busy.entries.filter(undoes__isnull=False).update(undoes=None)  # one undo each
    row = unsaved(append.model, busy, other_helper)
    row.save()
    saved = stored(row)
    append.model.objects.filter(pk=row.pk).delete()
    append([row])
    assert stored(row) == saved and columns(append.model.objects.get(pk=row.pk)) == columns(row)


@pytest.mark.parametrize("name", APPENDS)
def test_a_key_that_is_taken_is_not_written_over(busy, name):
    first = STATEMENTS[name].model.objects.first()
    before = stored(first)
    first.fingerprint = "another"
    with pytest.raises(IntegrityError), transaction.atomic():
        STATEMENTS[name]([first])
    assert stored(first) == before


def test_nothing_to_append_asks_nothing(busy):
    with CaptureQueriesContext(connection) as statements:
        prepared_sql.append_entries([])
    assert not len(statements)


@pytest.mark.parametrize("stage", Stage)
def test_pixels_are_added_as_the_queryset_adds_them_and_nowhere_else(busy, stage):
    there = busy.segments.get(code="R1-1")
    with transaction.atomic():
        for pixels in (5, -2):
            Segment.objects.filter(pk=there.pk).update(**{stage.done: F(stage.done) + pixels})
        of_querysets = [stored(row) for row in Segment.objects.all()]
        transaction.set_rollback(True)
    for pixels in (5, -2):
        prepared_sql.add_pixels(stage, there.pk, pixels)
    assert [stored(row) for row in Segment.objects.all()] == of_querysets


@pytest.mark.parametrize("last", [39, 41])
@pytest.mark.parametrize("oldest", [None, MONDAY + timedelta(hours=3, microseconds=7)])
def test_a_contact_is_noted_as_the_queryset_notes_it_and_the_highest_number_stays(busy, last, oldest):
    device = busy.devices.get(name="Tablet 1")
    what = {"last_seen_at": MONDAY, "waiting": 2, "oldest_waiting_at": oldest, "clock_offset_s": 0.25}
    with transaction.atomic():
        Device.objects.filter(pk=device.pk).update(last_sequence=Greatest("last_sequence", last), **what)
        of_querysets = [stored(row) for row in Device.objects.all()]
        transaction.set_rollback(True)
    prepared_sql.note_contact(id=device.pk, last_sequence=last, **what)
    assert [stored(row) for row in Device.objects.all()] == of_querysets
    device.refresh_from_db()
    assert device.last_sequence == max(40, last)


def held_from(row, asked: str) -> bool:
    """Whether somebody on a connection of their own would have to wait for this lock on the row."""

    def ask() -> bool:
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(f'SELECT 1 FROM "{row._meta.db_table}" WHERE id = %s FOR {asked} NOWAIT', [row.pk])
            return False
        except OperationalError:
            return True
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as somebody:
        return somebody.submit(ask).result(timeout=15)


@pytest.mark.skipif(connection.vendor == "sqlite", reason="SQLite lets one writer in at a time, lock or no lock")
@pytest.mark.django_db(transaction=True)
def test_a_build_is_held_as_the_queryset_holds_it_and_rows_that_point_at_it_need_not_wait(shed):
    for hold in (
        lambda: prepared_sql.hold_build(shed.pk),
        lambda: Build.objects.select_for_update(no_key=True).get(pk=shed.pk),
    ):
        with transaction.atomic():
            hold()
            assert [held_from(shed, lock) for lock in ("KEY SHARE", "SHARE", "NO KEY UPDATE")] == [False, True, True]
    assert not held_from(shed, "UPDATE")


def test_what_a_tick_looks_at_is_in_the_tests(busy):
    models = {statement.model for statement in STATEMENTS.values()}
    assert models == {Arrival, Build, Device, LedgerEntry, Person, Segment, SignIn, Stint, StintMember}
