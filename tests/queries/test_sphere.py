from dataclasses import replace

import pytest

from buildlog.actions import builds, plans
from buildlog.core.work.board import Filter
from buildlog.core.work.stages import Stage
from buildlog.models import Note
from buildlog.queries.segments import detail_of, find_segment, history_of
from buildlog.queries.sphere import board_of, version_of
from tests.people import BALL, MONDAY, begin_build, give, work_through


def cell_of(build, code, **what):
    return next(cell for cell in board_of(build, **what).cells if cell.code == code)


def test_the_board_has_every_segment_in_a_fixed_number_of_queries(shed, helper, django_assert_num_queries):
    give(shed, helper, "R1-1", "R3-2")
    with django_assert_num_queries(5):  # plan, segments with who has them, runs, notes, the word to close in
        board = board_of(shed)
    assert (len(board.cells), board.pixels, board.ribs) == (13, 254, 6)


def test_a_cell_knows_who_has_it_and_how_far_it_is(shed, helper):
    give(shed, helper, "R2-1")
    work_through(shed.segments.get(code="R2-1"), Stage.MOUNT, by=helper)
    cell = cell_of(shed, "R2-1")
    assert (cell.name, cell.initials, cell.helper) == ("Marek", "MA", helper.pk)
    assert cell.done == (cell.pixels, cell.pixels, 0, 0)
    assert cell.now == (Stage.WIRE,)


def test_testing_waits_for_the_chain_before_it(shed, helper):
    run = shed.segments.current().order_by("runs__channel", "runs__begins").filter(runs__begins__gt=1).first()
    work_through(run, Stage.WIRE, by=helper)
    assert Stage.TEST not in cell_of(shed, run.code).now


def test_closing_segments_wait_for_the_way_in(shed, helper):
    closing = shed.segments.filter(closing=True).first()
    work_through(closing, Stage.WIRE, by=helper)
    assert Stage.MOUNT not in cell_of(shed, closing.code).now


def test_azimuths_begin_at_the_rings_own_seam(db):
    loft = begin_build("LOFT", ball=replace(BALL, seam_stagger=2))
    begins = [cell.from_deg for cell in board_of(loft).cells if cell.piece == 1]
    assert begins == pytest.approx([0.0, 120.0, 240.0, 0.0, 120.0])


def test_what_the_filter_leaves_out_is_dim(shed, helper):
    give(shed, helper, "R2-1")
    board = board_of(shed, Filter(helper=helper.pk))
    assert [cell.code for cell in board.cells if not cell.dim] == ["R2-1"]
    assert board.chosen == 1


def test_an_open_note_is_on_the_map_until_it_is_settled(shed, helper):
    note = Note.objects.create(build=shed, segment=shed.segments.get(code="R2-1"), by=helper, at=MONDAY, says="Loose")
    assert cell_of(shed, "R2-1").notes == 1
    note.settled_at = MONDAY
    note.save()
    assert cell_of(shed, "R2-1").notes == 0


def test_a_build_without_a_plan_has_an_empty_board(db):
    assert board_of(builds.begin(code="BARE", name="Bare", time_zone="UTC", now=MONDAY)).cells == ()


def test_the_version_changes_with_ticks_assignments_and_notes(shed, helper):
    seen = [version_of(shed)]
    work_through(shed.segments.get(code="R1-1"), Stage.POPULATE, by=helper, pixels=3)
    seen.append(version_of(shed))
    give(shed, helper, "R1-1")
    seen.append(version_of(shed))
    Note.objects.create(build=shed, segment=shed.segments.get(code="R2-1"), by=helper, at=MONDAY, says="Loose")
    seen.append(version_of(shed))
    assert len(set(seen)) == 4
    assert version_of(shed) == seen[-1]


def test_a_segment_is_found_however_its_code_is_written(shed):
    assert find_segment(shed, "r2-1").code == "R2-1"
    assert find_segment(shed, "R99-1") is None


def test_the_detail_agrees_with_the_board(shed, helper):
    give(shed, helper, "R2-1")
    segment = find_segment(shed, "R2-1")
    work_through(segment, Stage.MOUNT, by=helper, pixels=5)
    detail = detail_of(shed, find_segment(shed, "R2-1"))
    assert replace(cell_of(shed, "R2-1"), now=()) == detail.cell
    assert {step.stage for step in detail.next_steps} == set(cell_of(shed, "R2-1").now)
    assert detail.rings == 5


def test_history_has_the_newest_entry_first(shed, helper):
    segment = find_segment(shed, "R2-1")
    work_through(segment, Stage.MOUNT, by=helper, pixels=5)
    assert len(history_of(segment)) == 2
    assert {entry.actor for entry in history_of(segment)} == {helper}


def test_a_draft_shows_too(db):
    loft = begin_build("LOFT")
    plans.unfreeze(build=loft, by=None, now=MONDAY)
    assert len(board_of(loft).cells) == 13


def test_one_build_s_ticks_do_not_show_on_another(shed, db):
    loft = begin_build("LOFT")
    work_through(shed.segments.get(code="R1-1"), Stage.POPULATE, by=shed.people.first())
    assert board_of(loft).totals[0].count == 0
