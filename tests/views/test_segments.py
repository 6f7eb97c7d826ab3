"""One segment's page: looking, ticking, letting count as not passed."""

import uuid

import pytest
from django.urls import reverse

from buildlog.core.work.stages import Stage
from buildlog.queries.segments import find_segment
from tests.people import account, begin_build, work_through

HTMX = {"HTTP_HX_REQUEST": "true"}


def page_of(build, code="R2-1"):
    return reverse("segment", args=[build.code, code])


def tick(client, build, htmx=True, code="R2-1", **fields):
    given = {"id": uuid.uuid4(), "stage": "populate", "pixels": 5} | fields
    return client.post(reverse("tick", args=[build.code, code]), given, **(HTMX if htmx else {}))


def reopen(client, build, **fields):
    given = {"id": uuid.uuid4(), "stage": "populate", "pixels": 5, "note": "Holes too wide"} | fields
    return client.post(reverse("reopen", args=[build.code, "R2-1"]), given, **HTMX)


def counts(build, code="R2-1"):
    segment = find_segment(build, code)
    return segment.populated, segment.mounted, segment.wired, segment.tested


def test_the_page_says_how_the_segment_stands(shed, helper, sign_in):
    work_through(find_segment(shed, "R2-1"), Stage.POPULATE, by=helper, pixels=5)
    page = sign_in(helper).get(page_of(shed)).content.decode()
    assert "5 of" in page
    assert "Mark mounted" in page


def test_looking_changes_nothing(shed, helper, sign_in):
    sign_in(helper).get(page_of(shed))
    assert not shed.entries.exists()
    assert sign_in(helper).get(reverse("tick", args=[shed.code, "R2-1"])).status_code == 405


def test_a_viewer_is_offered_nothing_to_press(shed, viewer, sign_in):
    page = sign_in(viewer).get(page_of(shed)).content.decode()
    assert "Mark populated" not in page
    assert "Reopen" not in page


def test_a_helper_ticks(shed, helper, sign_in):
    answer = tick(sign_in(helper), shed)
    assert answer.status_code == 200
    assert "board-changed" in answer["HX-Trigger"]
    assert counts(shed) == (5, 0, 0, 0)
    assert shed.entries.get().actor == helper


def test_the_same_press_twice_counts_once(shed, helper, sign_in):
    client, entry = sign_in(helper), uuid.uuid4()
    assert [tick(client, shed, id=entry).status_code for _ in range(2)] == [200, 200]
    assert counts(shed) == (5, 0, 0, 0)


def test_without_script_a_tick_leads_back_to_the_segment(shed, helper, sign_in):
    answer = tick(sign_in(helper), shed, htmx=False)
    assert (answer.status_code, answer["Location"]) == (302, page_of(shed))


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"pixels": 9999}, "are more than R2-1 has left"),
        ({"pixels": "a few"}, "whole number"),
        ({"pixels": "0"}, "0 is too little: 1 is the least"),
        ({"id": "x"}, "valid UUID"),
    ],
)
def test_what_is_refused_is_said_beside_what_was_typed(shed, helper, sign_in, fields, says):
    answer = tick(sign_in(helper), shed, **fields)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert f'value="{fields.get("pixels", 5)}"' in answer.content.decode()
    assert counts(shed) == (0, 0, 0, 0)


def test_a_stage_out_of_order_is_refused_with_the_reason(shed, helper, sign_in):
    answer = tick(sign_in(helper), shed, stage="mount")
    assert answer.status_code == 422
    assert "populate first, then mount" in answer.content.decode()


def test_the_lead_lets_pixels_count_as_not_passed(shed, lead, helper, sign_in):
    work_through(find_segment(shed, "R2-1"), Stage.MOUNT, by=helper, pixels=9)
    answer = reopen(sign_in(lead), shed, stage="populate", pixels=4)
    assert answer.status_code == 200
    assert counts(shed) == (5, 5, 0, 0)
    assert "Holes too wide" in sign_in(lead).get(page_of(shed)).content.decode()


def test_a_reopening_that_is_refused_stays_open_as_typed(shed, lead, helper, sign_in):
    work_through(find_segment(shed, "R2-1"), Stage.POPULATE, by=helper, pixels=9)
    answer = reopen(sign_in(lead), shed, pixels=50).content.decode()
    assert 'value="50"' in answer
    assert "R2-1 has 9 populated" in answer


def test_a_helper_cannot_reopen(shed, helper, sign_in):
    assert reopen(sign_in(helper), shed).status_code == 403


@pytest.mark.parametrize("code", ["R99-1", "door"])
def test_a_segment_that_is_not_there_is_not_found(shed, helper, sign_in, code):
    assert sign_in(helper).get(page_of(shed, code)).status_code == 404
    assert tick(sign_in(helper), shed, code=code).status_code == 404


def test_another_build_s_segment_cannot_be_ticked(shed, helper, sign_in, db):
    loft = begin_build("LOFT", account("Pia"))
    answer = tick(sign_in(helper), loft)
    assert answer.status_code in (204, 302, 404)
    assert counts(loft) == (0, 0, 0, 0)
