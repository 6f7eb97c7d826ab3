"""Revising a frozen plan on the screen: numbers, changes, decisions."""

import re

import pytest
from django.urls import reverse

from buildlog.core.plan.parse import write_options
from buildlog.core.work.stages import Stage
from buildlog.models import Plan
from tests.pages import text
from tests.people import BALL, work_through


@pytest.fixture
def address(shed):
    return reverse("plan_revise", args=[shed.code])


@pytest.fixture
def ilse(lead, sign_in):
    return sign_in(lead)


def typed(**changes):
    return {name: value for name, value in write_options(BALL).items() if value} | changes


def test_a_frozen_plan_offers_to_be_revised(shed, ilse, address):
    assert address in text(ilse.get(reverse("plan", args=[shed.code])))
    page = text(ilse.get(address))
    assert "Plan 1 stays in force" in page
    assert 'value="See' not in page
    assert "See what changes" in page
    assert "Load a ring table" not in page


def test_a_draft_needs_no_revising(shed, lead, ilse, address):
    ilse.post(reverse("plan_unfreeze", args=[shed.code]))
    assert ilse.get(address).status_code == 302


def test_numbers_that_make_no_plan_come_back_with_the_reason(ilse, address):
    answer = ilse.post(address, typed(pitch="3 parsecs", do="changes"))
    assert answer.status_code == 422
    assert 'value="3 parsecs"' in text(answer)


def test_the_changes_are_shown_before_anything_changes(shed, ilse, address):
    answer = ilse.post(address, typed(max_segment="40", do="changes"))
    page = text(answer)
    assert answer.status_code == 200
    assert "Nothing is changed yet" in page
    assert re.search(r"R3-1</th> <td>changes", page)
    assert '<input type="hidden" name="max_segment" value="40">' in page
    assert Plan.objects.get().revision == 1


def test_what_was_ticked_waits_for_a_decision(shed, helper, ilse, address):
    work_through(shed.segments.get(code="R3-1"), Stage.POPULATE, by=helper, pixels=7)
    page = text(ilse.post(address, typed(max_segment="40", do="changes")))
    assert "7 populated" in page
    answer = ilse.post(address, typed(max_segment="40", do="revise", revision="1"))
    assert answer.status_code == 422
    assert "Decide what becomes of" in text(answer)
    assert Plan.objects.get().revision == 1


def test_one_decision_for_all_or_another_for_one(shed, helper, ilse, address):
    for code in ("R3-1", "R3-2"):
        work_through(shed.segments.get(code=code), Stage.POPULATE, by=helper, pixels=7)
    said = typed(max_segment="40", do="revise", revision="1", every="keep", **{"R3-2": "redo"})
    answer = ilse.post(address, said)
    assert answer["Location"] == reverse("plan", args=[shed.code])
    counts = {row.code: row.populated for row in shed.segments.current().filter(ring=3)}
    assert (counts["R3-1"], counts["R3-2"]) == (7, 0)
    assert "Plan 2, frozen" in text(ilse.get(answer["Location"]))


def test_a_decision_made_about_an_older_plan_is_refused(shed, ilse, address):
    ilse.post(address, typed(max_segment="40", do="revise", revision="1"))
    answer = ilse.post(address, typed(max_segment="60", do="revise", revision="1"))
    assert answer.status_code == 422
    assert "plan 2 in force meanwhile" in text(answer)


def test_wired_pieces_that_go_to_other_channels_are_asked_about(shed, helper, ilse, address):
    for code in ("R1-1", "R2-1", "R2-2", "R2-3"):
        work_through(shed.segments.get(code=code), Stage.WIRE, by=helper)
    said = typed(capacity="40", outputs="", max_segment="25", do="changes")
    assert "Wired segments that go to other channels" in text(ilse.post(address, said))
    assert ilse.post(address, said | {"do": "revise", "revision": "1"}).status_code == 422
    assert ilse.post(address, said | {"do": "revise", "revision": "1", "rewired": "redo"}).status_code == 302
    assert shed.segments.get(code="R2-3").wired == 0


def test_nothing_changed_is_said(ilse, address):
    assert "leave every segment and channel as it is" in text(ilse.post(address, typed(do="changes")))


def test_only_the_lead_revises(address, helper, viewer, sign_in):
    for person in (helper, viewer):
        assert sign_in(person).post(address, typed(do="revise")).status_code == 403
