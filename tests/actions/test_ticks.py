"""Ticks, undos and reopenings: the ledger, the segment's sums, and who may."""

from __future__ import annotations

import uuid

import pytest

from buildlog.actions import closing, ticks
from buildlog.core.errors import Refused
from buildlog.core.work.stages import STAGES, Stage
from buildlog.models import LedgerEntry
from buildlog.queries.audit import differences
from tests.people import MONDAY, hours_after, start_stint, work_through

NOW = ticks.Moment.now(MONDAY)


def tick(build, by, code, stage, pixels, entry_id=None, stint=None):
    return ticks.tick(
        build=build, actor=by, entry_id=entry_id or uuid.uuid4(), segment_code=code, stage=stage, pixels=pixels,
        moment=NOW, stint=stint,
    )  # fmt: skip


@pytest.fixture
def first(shed):
    return shed.segments.current().first()


def test_a_tick_is_in_the_ledger_and_on_the_segment(shed, helper, first):
    outcome = tick(shed, helper, first.code, Stage.POPULATE, 5)
    first.refresh_from_db()
    assert (first.populated, outcome.entry.pixels, outcome.had_it) == (5, 5, False)
    assert differences(shed) == []


def test_the_same_tick_again_counts_once(shed, helper, first):
    entry_id = uuid.uuid4()
    tick(shed, helper, first.code, Stage.POPULATE, 5, entry_id)
    assert tick(shed, helper, first.code, Stage.POPULATE, 5, entry_id).had_it
    first.refresh_from_db()
    assert first.populated == 5 and shed.entries.count() == 1


def test_another_content_under_the_same_id_is_refused_and_the_first_kept(shed, helper, first):
    entry_id = uuid.uuid4()
    tick(shed, helper, first.code, Stage.POPULATE, 5, entry_id)
    with pytest.raises(Refused, match="other content"):
        tick(shed, helper, first.code, Stage.POPULATE, 6, entry_id)
    first.refresh_from_db()
    assert first.populated == 5


def test_a_refused_tick_leaves_nothing_behind(shed, helper, first):
    with pytest.raises(Refused, match="populate first, then mount"):
        tick(shed, helper, first.code, Stage.MOUNT, 5)
    assert not shed.entries.exists()


def test_a_segment_that_the_plan_does_not_have_is_refused(shed, helper):
    with pytest.raises(Refused, match="no segment 'R99-1'"):
        tick(shed, helper, "R99-1", Stage.POPULATE, 1)


def test_helpers_undo_their_own_ticks_and_the_lead_anybodys(shed, lead, helper, other_helper, first):
    entry = tick(shed, helper, first.code, Stage.POPULATE, 5).entry
    with pytest.raises(Refused, match="somebody else's"):
        ticks.undo(build=shed, actor=other_helper, entry_id=uuid.uuid4(), undoes=entry.pk, moment=NOW)
    ticks.undo(build=shed, actor=lead, entry_id=uuid.uuid4(), undoes=entry.pk, moment=NOW)
    first.refresh_from_db()
    assert first.populated == 0 and shed.entries.count() == 2


def test_whoever_was_in_the_stint_may_undo_its_ticks(shed, helper, other_helper, first):
    stint = start_stint(helper, other_helper, segment=first)
    entry = tick(shed, helper, first.code, Stage.POPULATE, 5, stint=stint).entry
    ticks.undo(build=shed, actor=other_helper, entry_id=uuid.uuid4(), undoes=entry.pk, moment=NOW)
    first.refresh_from_db()
    assert first.populated == 0


def test_a_tick_is_undone_once(shed, helper, first):
    entry = tick(shed, helper, first.code, Stage.POPULATE, 5).entry
    undo_id = uuid.uuid4()
    ticks.undo(build=shed, actor=helper, entry_id=undo_id, undoes=entry.pk, moment=NOW)
    assert ticks.undo(build=shed, actor=helper, entry_id=undo_id, undoes=entry.pk, moment=NOW).had_it
    with pytest.raises(Refused, match="already"):
        ticks.undo(build=shed, actor=helper, entry_id=uuid.uuid4(), undoes=entry.pk, moment=NOW)


def test_what_later_stages_stand_on_cannot_be_undone(shed, helper, first):
    work_through(first, Stage.MOUNT, by=helper)
    populated = shed.entries.get(stage=Stage.POPULATE)
    with pytest.raises(Refused, match="mounted already"):
        ticks.undo(build=shed, actor=helper, entry_id=uuid.uuid4(), undoes=populated.pk, moment=NOW)


def test_reopening_takes_the_pixels_back_from_every_later_stage(shed, lead, helper, first):
    work_through(first, Stage.WIRE, by=helper)
    ids = {stage: uuid.uuid4() for stage in STAGES}
    again = {
        "build": shed, "actor": lead, "entry_ids": ids, "segment_code": first.code, "stage": Stage.MOUNT, "pixels": 3,
        "moment": NOW,
    }  # fmt: skip
    ticks.reopen(**again)
    first.refresh_from_db()
    assert first.sums == {
        Stage.POPULATE: first.pixels, Stage.MOUNT: first.pixels - 3, Stage.WIRE: first.pixels - 3, Stage.TEST: 0,
    }  # fmt: skip
    assert differences(shed) == []


def test_testing_waits_for_the_wiring_of_all_before_it_on_the_channel(shed, helper):
    first, second = shed.segments.filter(runs__channel=1).order_by("runs__begins")[:2]
    work_through(second, Stage.WIRE, by=helper)
    with pytest.raises(Refused, match=f"Data does not reach {second.code}"):
        tick(shed, helper, second.code, Stage.TEST, second.pixels)
    work_through(first, Stage.WIRE, by=helper)
    part = second.runs.get(channel=1)
    tick(shed, helper, second.code, Stage.TEST, part.last - part.first + 1)


def test_closing_segments_wait_for_all_others_and_for_the_leads_word(shed, lead, helper):
    last = shed.segments.current().filter(closing=True).first()
    work_through(last, Stage.WIRE, by=helper)
    with pytest.raises(Refused, match="closes the way in"):
        tick(shed, helper, last.code, Stage.MOUNT, 1)
    with pytest.raises(Refused, match="to wire"):
        closing.confirm(build=shed, by=lead, now=MONDAY, nobody_inside=True, tools_out=True, power_isolated=True)
    for segment in shed.segments.in_the_way():
        work_through(segment, Stage.WIRE, by=helper)
    for segment in shed.segments.in_the_way():
        tick(shed, helper, segment.code, Stage.TEST, segment.pixels)
    with pytest.raises(Refused, match="the lead's word"):
        tick(shed, helper, last.code, Stage.MOUNT, 1)
    with pytest.raises(Refused, match="All three"):
        closing.confirm(build=shed, by=lead, now=MONDAY, nobody_inside=True, tools_out=False, power_isolated=True)
    closing.confirm(build=shed, by=lead, now=MONDAY, nobody_inside=True, tools_out=True, power_isolated=True)
    tick(shed, helper, last.code, Stage.MOUNT, 1)


def test_an_override_needs_a_reason_stays_on_record_and_can_be_taken_back(shed, lead, helper):
    last = shed.segments.current().filter(closing=True).first()
    work_through(last, Stage.WIRE, by=helper)
    with pytest.raises(Refused, match="Say why"):
        closing.override(build=shed, by=lead, now=MONDAY, reason=" ")
    closing.override(build=shed, by=lead, now=MONDAY, reason="frame has a second hatch")
    tick(shed, helper, last.code, Stage.MOUNT, 1)
    closing.withdraw(build=shed, by=lead, now=hours_after(1))
    with pytest.raises(Refused, match="closes the way in"):
        tick(shed, helper, last.code, Stage.MOUNT, 1)
    assert "second hatch" in shed.records.get(verb="close-in override").says


def test_the_ledger_is_never_rewritten(shed, helper, first):
    entry = tick(shed, helper, first.code, Stage.POPULATE, 5).entry
    entry.pixels = 7
    with pytest.raises(Exception, match=r"UNIQUE|unique|duplicate"):
        entry.save()


def test_nobody_deletes_from_the_ledger(shed, helper, first):
    entry = tick(shed, helper, first.code, Stage.POPULATE, 5).entry
    with pytest.raises(TypeError, match="append-only"):
        entry.delete()
    assert LedgerEntry.objects.filter(pk=entry.pk).exists()


def test_the_audit_sees_a_sum_that_does_not_follow_from_the_ledger(shed, helper, first):
    tick(shed, helper, first.code, Stage.POPULATE, 5)
    shed.segments.filter(pk=first.pk).update(populated=6)
    (found,) = differences(shed)
    assert found == f"{first.code}: the ledger adds up to 5 pixels populated, the segment says 6."
