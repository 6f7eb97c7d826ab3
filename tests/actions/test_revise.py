"""A frozen plan revised while work goes on: nothing ticked goes without a decision, and the books stay straight."""

from dataclasses import replace

import pytest

from buildlog.actions import plans
from buildlog.actions.revise import Answers, revise
from buildlog.core.errors import Refused
from buildlog.core.plan.revise import Decision
from buildlog.core.work.stages import Stage
from buildlog.models import Plan, Segment
from buildlog.queries.audit import differences
from tests.people import BALL, MONDAY, begin_build, give, hours_after, start_stint, work_through

LONGER = replace(BALL, max_segment=40)  # rings are cut into fewer, longer pieces
OTHER_CHANNELS = replace(BALL, capacity=90)
LATER = hours_after(8)


@pytest.fixture
def put(shed, lead):
    """Call it with parameters and decisions: the revised plan."""

    def put_in_force(parameters, decisions=None, revision=1, redo_wiring=False) -> Plan:
        answers = Answers(decisions or {}, redo_wiring)
        return revise(
            build=shed, parameters=parameters, answers=answers, revision=revision, by=lead, now=LATER
        )  # fmt: skip

    return put_in_force


def now(shed, code) -> Segment:
    return shed.segments.current().get(code=code)


def straight(shed) -> bool:
    return differences(shed) == []


def test_the_same_plan_again_keeps_every_row(shed, helper, put):
    work_through(shed.segments.get(code="R1-1"), Stage.MOUNT, by=helper)
    before = {row.code: (row.pk, row.label, row.mounted) for row in shed.segments.all()}
    made = put(BALL)
    assert (made.revision, made.frozen_at) == (2, LATER)
    assert {row.code: (row.pk, row.label, row.mounted) for row in shed.segments.all()} == before
    assert straight(shed)


def test_pieces_that_nobody_ticked_change_without_a_question(shed, put):
    put(LONGER)
    assert shed.segments.current().count() < 13
    assert Plan.objects.filter(build=shed).first().read() == LONGER
    assert straight(shed)


def test_a_ticked_piece_that_changes_waits_for_a_decision(shed, helper, put):
    work_through(now(shed, "R3-1"), Stage.POPULATE, by=helper, pixels=10)
    with pytest.raises(Refused, match="R3-1: decide"):
        put(LONGER)
    assert Plan.objects.filter(build=shed).count() == 1
    assert now(shed, "R3-1").pixels < 25
    assert straight(shed)


def test_a_decision_that_is_not_open_counts_as_none(shed, helper, put):
    work_through(now(shed, "R3-3"), Stage.POPULATE, by=helper, pixels=10)
    with pytest.raises(Refused, match="R3-3: decide"):
        put(LONGER, {"R3-3": Decision.KEEP})  # the piece is gone: there is nothing to keep it on


def test_a_count_that_is_kept_stays_on_its_row(shed, helper, put):
    row = now(shed, "R3-1")
    work_through(row, Stage.MOUNT, by=helper, pixels=10)
    put(LONGER, {"R3-1": Decision.KEEP})
    after = now(shed, "R3-1")
    assert (after.pk, after.label, after.populated, after.mounted) == (row.pk, row.label, 10, 10)
    assert after.pixels > row.pixels
    assert straight(shed)


def test_work_that_is_done_again_begins_at_nothing_and_stays_on_record(shed, helper, put):
    row = now(shed, "R3-1")
    work_through(row, Stage.MOUNT, by=helper)
    put(LONGER, {"R3-1": Decision.REDO})
    after = now(shed, "R3-1")
    assert (after.populated, after.mounted) == (0, 0)
    assert after.label != row.label
    old = Segment.objects.get(pk=row.pk)
    assert (old.retired_at, old.mounted, old.entries.count()) == (LATER, row.pixels, 2)
    assert straight(shed)


def test_a_count_that_is_moved_stands_on_the_pieces_that_cover_the_same_pixels(shed, helper, put):
    first, second = now(shed, "R3-1"), now(shed, "R3-2")
    work_through(first, Stage.MOUNT, by=helper)
    work_through(second, Stage.POPULATE, by=helper, pixels=15)
    put(LONGER, {"R3-1": Decision.MOVE, "R3-2": Decision.MOVE})
    after = now(shed, "R3-1")
    on_second = now(shed, "R3-2").populated
    assert after.mounted == first.pixels
    assert after.populated + on_second == first.pixels + 15
    assert "carried over from R3-1" in after.entries.filter(stage=Stage.MOUNT).get().note
    assert straight(shed)


def test_no_piece_gets_more_than_it_holds(shed, helper, put):
    for code in ("R3-1", "R3-2", "R3-3"):
        work_through(now(shed, code), Stage.POPULATE, by=helper)
    total = sum(now(shed, code).pixels for code in ("R3-1", "R3-2", "R3-3"))
    put(LONGER, {"R3-1": Decision.KEEP, "R3-2": Decision.MOVE, "R3-3": Decision.MOVE})
    rows = shed.segments.current().filter(ring=3)
    assert all(row.populated <= row.pixels for row in rows)
    assert sum(row.populated for row in rows) <= total
    assert straight(shed)


def test_who_had_a_piece_has_the_one_that_takes_its_code(shed, helper, put):
    give(shed, helper, "R3-1")
    work_through(now(shed, "R3-1"), Stage.POPULATE, by=helper)
    put(LONGER, {"R3-1": Decision.REDO})
    assert now(shed, "R3-1").assigned_to == helper


def test_pieces_on_other_channels_are_wired_again_if_the_lead_says_so(shed, helper, put):
    for code in ("R1-1", "R2-1"):
        work_through(now(shed, code), Stage.WIRE, by=helper)
    put(OTHER_CHANNELS)
    assert sum(now(shed, code).wired > 0 for code in ("R1-1", "R2-1")) == 2
    put(BALL, revision=2, redo_wiring=True)
    assert min(now(shed, code).wired for code in ("R1-1", "R2-1", "R2-2")) == 0
    assert now(shed, "R1-1").populated > 0
    assert straight(shed)


def test_nobody_changes_a_piece_under_somebody_s_hands(shed, helper, put):
    start_stint(helper, segment=now(shed, "R3-2"))
    with pytest.raises(Refused, match="working on R3-2"):
        put(LONGER)


def test_two_leads_do_not_decide_about_different_plans(shed, put):
    put(LONGER)
    with pytest.raises(Refused, match="plan 2 in force meanwhile"):
        put(BALL)


def test_a_draft_is_not_revised(db, lead, shed, put):
    plans.unfreeze(build=shed, by=lead, now=MONDAY)
    with pytest.raises(Refused, match="draft"):
        put(LONGER)


def test_other_builds_are_left_alone(shed, outsider, put):
    before = list(outsider.build.segments.values_list("code", "pixels", "retired_at"))
    put(LONGER)
    assert list(outsider.build.segments.values_list("code", "pixels", "retired_at")) == before
    assert begin_build("YARD").segments.count() == 13


def test_the_decisions_are_on_record(shed, helper, put):
    work_through(now(shed, "R3-1"), Stage.POPULATE, by=helper)
    put(LONGER, {"R3-1": Decision.KEEP})
    line = shed.records.filter(verb="revise plan").get()
    assert line.detail["decisions"] == {"R3-1": "keep"}
    assert "Plan 2 in force" in line.says
