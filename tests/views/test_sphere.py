"""The Sphere screen and handing out segments on it."""

import gzip
import json
import re

import pytest
from django.urls import reverse

from buildlog.core.work.stages import Stage
from buildlog.queries.sphere import version_of
from tests.people import account, begin_build, give, join_crew, work_through

pytestmark = pytest.mark.screen

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def address(shed):
    return reverse("sphere", args=[shed.code])


@pytest.fixture
def ilse(lead, sign_in):
    return sign_in(lead)


def post_assign(client, build, htmx=True, **fields):
    return client.post(reverse("assign", args=[build.code]), fields, **(HTMX if htmx else {}))


def test_everybody_of_the_build_sees_the_ball(address, lead, helper, viewer, sign_in):
    for person in (lead, helper, viewer):
        page = sign_in(person).get(address)
        assert page.status_code == 200
        assert page.content.count(b'data-code="R2-1"') >= 1


def test_only_the_lead_hands_out_segments(address, lead, helper, viewer, sign_in):
    shows = [b'id="give"' in sign_in(person).get(address).content for person in (lead, helper, viewer)]
    assert shows == [True, False, False]


def test_nothing_is_sent_when_nothing_is_new(shed, address, ilse):
    seen = version_of(shed)
    assert ilse.get(address, {"seen": seen}, **HTMX).status_code == 204
    give(shed, None, "R1-1")
    answer = ilse.get(address, {"seen": seen}, **HTMX)
    assert answer.status_code == 200
    assert b"<html" not in answer.content


def test_the_window_comes_alone_also_when_nothing_is_new(shed, address, ilse):
    answer = ilse.get(address, {"part": "window", "ring": 2, "seen": version_of(shed)}, **HTMX)
    assert answer.content.strip().startswith(b"<section") or b'id="window"' in answer.content
    assert b'class="ball"' not in answer.content


@pytest.mark.parametrize(
    "place", ["ring=x", "ring=1&az=nan", "ring=1&az=inf", "ring=-5", "ring=99999", "az=3", "ring="]
)
def test_a_place_that_is_none_still_gives_the_map(address, ilse, place):
    assert ilse.get(f"{address}?{place}").status_code == 200


def test_a_filter_that_cannot_be_read_is_said_and_left_out(address, ilse):
    page = ilse.get(address, {"rings": "the top", "channel": "-1", "stage": "polish"})
    assert page.status_code == 200
    assert "Give a ring or a range" in page.content.decode()
    assert b'"dim seg"' not in page.content


def test_a_filter_dims_the_others(address, ilse):
    page = ilse.get(address, {"rings": "2 to 3"}).content.decode()
    assert page.count('"dim seg"') == 13 - page.count('class="seg"') > 0


def test_segments_are_handed_out_and_taken_back(shed, helper, ilse):
    answer = post_assign(ilse, shed, segments="R2-1 R3", to=helper.pk)
    assert "assigned to Marek" in answer.content.decode()
    assert "board-changed" in answer["HX-Trigger"]
    assert helper.segments.count() > 1
    undo = re.search(r'hx-post="(/b/SHED/assign/\d+/undo/)"', answer.content.decode())[1]
    assert "Undone" in ilse.post(undo, **HTMX).content.decode()
    assert helper.segments.count() == 0


def test_without_script_the_same_form_leads_back_to_the_map(shed, helper, ilse, address):
    answer = post_assign(ilse, shed, htmx=False, segments="R2-1", to=helper.pk)
    assert (answer.status_code, answer["Location"]) == (302, address)
    assert "1 segment assigned to Marek." in ilse.get(address).content.decode()


@pytest.mark.parametrize("segments", ["R99", "", "R1-1; drop table"])
def test_what_cannot_be_handed_out_is_said_and_stays_typed(shed, helper, ilse, segments):
    answer = post_assign(ilse, shed, segments=segments, to=helper.pk)
    assert answer.status_code == 422
    assert "errorlist" in answer.content.decode()
    assert f'value="{segments}"' in answer.content.decode() or not segments
    assert helper.segments.count() == 0


def test_nobody_is_said_and_not_left_out(shed, helper, ilse):
    give(shed, helper, "R2-1")
    assert post_assign(ilse, shed, segments="R2-1", to="").status_code == 422
    assert helper.segments.count() == 1
    assert post_assign(ilse, shed, segments="R2-1", to="0").status_code == 200
    assert helper.segments.count() == 0


def test_a_person_of_another_build_cannot_be_given_anything(shed, ilse, db):
    stranger = join_crew(begin_build("LOFT", account("Pia")), "Zoe")
    assert post_assign(ilse, shed, segments="R2-1", to=stranger.pk).status_code == 422


def test_names_are_escaped_on_the_map(shed, address, ilse):
    give(shed, join_crew(shed, "<img src=x>"), "R2-1")
    page = ilse.get(address).content.decode()
    assert "<img src=x>" not in page
    assert "&lt;img src=x&gt;" in page


def test_a_lead_without_a_plan_is_shown_the_way(db, sign_in):
    from buildlog.actions import builds
    from tests.people import MONDAY

    bare = builds.begin(code="BARE", name="Bare", time_zone="UTC", now=MONDAY, lead=account("Ada"))
    page = sign_in(bare.people.get()).get(reverse("sphere", args=["BARE"])).content.decode()
    assert "No ball to show yet" in page


def test_the_page_asks_a_fixed_number_of_queries(shed, address, ilse, helper, django_assert_max_num_queries):
    work_through(shed.segments.get(code="R2-1"), Stage.WIRE, by=helper)
    with django_assert_max_num_queries(15):  # session, account, build, person; version 3; people twice; board 5
        ilse.get(address)


def test_the_page_is_small(address, ilse):
    page = ilse.get(address, HTTP_ACCEPT_ENCODING="identity").content
    assert len(gzip.compress(page)) < 25_000


def test_the_tick_s_notice_is_ascii_for_the_header(shed, helper, sign_in):
    answer = sign_in(helper).post(
        reverse("tick", args=[shed.code, "R2-1"]),
        {"id": "6c1f9e9a-0d0e-4b0a-9a53-7f2e1c3b5a10", "stage": "populate", "pixels": "3"},
        **HTMX,
    )
    assert json.loads(answer["HX-Trigger"])["notice"]["text"] == "R2-1: 3 pixels populated."
