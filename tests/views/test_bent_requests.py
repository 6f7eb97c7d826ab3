"""Requests that no page of ours makes: each is answered with a sentence."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from buildlog.models import Note, Stint
from tests.people import MONDAY, start_stint

pytestmark = pytest.mark.django_db

MANY_DIGITS = "9" * 5000  # Python itself refuses to read more than 4300 (sys.int_info.default_max_str_digits)
LONG = ("9" * 19, "9" * 30, MANY_DIGITS)


def url(name: str, *more: object) -> str:
    return reverse(name, args=["SHED", *more])


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "1989-12-31", "2200-01-01"])
def test_a_day_on_which_nothing_is_built_is_refused_beside_its_field(shed, lead, sign_in, day):
    answer = sign_in(lead).get(url("hours"), {"day": day})
    assert answer.status_code == 200
    assert f"Found the year {int(day[:4])}: give one from 1990 to 2199." in answer.content.decode()


@pytest.mark.parametrize("digits", LONG)
def test_a_page_of_any_number_is_the_last_page(shed, lead, sign_in, digits):
    assert sign_in(lead).get(url("hours"), {"page": digits}).status_code == 200


@pytest.mark.parametrize("digits", LONG)
@pytest.mark.parametrize("text", ["R{}", "R1-{}", "R1 to R{}", "R{}-1 to R2-1", "R1-{} to R2-1"])
def test_segments_named_by_numbers_of_any_length_are_not_there(shed, lead, helper, sign_in, digits, text):
    named = text.format(digits)
    given = sign_in(lead).post(url("assign"), {"segments": named, "to": str(helper.pk)})
    assert given.status_code == 422 and "isn’t a segment of this ball" in given.content.decode()
    asked = sign_in(lead).get(url("print_labels"), {"segments": named, "make": "1"})
    assert asked.status_code == 200 and "isn’t a segment of this ball" in asked.content.decode()


@pytest.mark.parametrize("digits", LONG)
def test_numbers_of_any_length_are_refused_beside_their_field(shed, lead, helper, sign_in, digits):
    client = sign_in(lead)
    past = {
        "stint": uuid.uuid4(),
        "name": digits,
        "work": "mount",
        "start": "2026-03-02T08:00",
        "end": "2026-03-02T09:00",
    }
    begun = {"id": uuid.uuid4(), "stint": uuid.uuid4(), "stage": "mount", "with": digits}
    for answer in (
        client.post(url("hours_enter"), past),
        client.post(url("hours_enter"), past | {"name": str(helper.pk), "pixels": digits, "segment": "R1-1"}),
        client.post(url("hours_enter"), past | {"name": str(helper.pk), "break_min": digits}),
        client.post(url("today_entry", "stint-start"), begun),
        client.post(url("tick", "R1-1"), {"id": uuid.uuid4(), "stage": "mount", "pixels": digits}),
    ):
        assert answer.status_code == 422


@pytest.mark.parametrize("number", ["9" * 19, "9" * 30, MANY_DIGITS])
@pytest.mark.parametrize(
    "path", ["crew/{}/", "jobs/{}/", "forecast/what-if/{}/", "switch/{}/", "crew/{}/shifts/{}/drop/", "assign/{}/undo/"]
)
def test_a_number_of_nobody_in_an_address_is_not_found(shed, lead, sign_in, number, path):
    client = sign_in(lead)
    for answer in (
        client.get(f"/b/SHED/{path.format(number, number)}"),
        client.post(f"/b/SHED/{path.format(number, number)}"),
    ):
        assert answer.status_code in (302, 404, 405)


def test_the_id_of_a_note_of_somebody_else_is_taken(shed, helper, other_helper, outsider, sign_in):
    theirs = Note.objects.create(
        build=shed, segment=shed.segments.get(code="R1-1"), by=other_helper, at=MONDAY, says="Torn."
    )
    loft = outsider.build
    elsewhere = Note.objects.create(build=loft, segment=loft.segments.first(), by=outsider, at=MONDAY, says="Bent.")
    for note in (theirs, elsewhere):
        sent = {"id": note.pk, "segment": "R1-1", "says": "Mine."}
        answer = sign_in(helper).post(url("today_entry", "note"), sent)
        assert answer.status_code == 422 and "already belongs to another" in answer.content.decode()
    assert set(Note.objects.values_list("says", flat=True)) == {"Torn.", "Bent."}


def test_the_id_of_a_stint_of_another_build_is_taken(shed, helper, lead, outsider, sign_in):
    theirs = start_stint(outsider, segment=outsider.build.segments.first())
    begun = {"id": uuid.uuid4(), "stint": theirs.pk, "stage": "mount", "segment": "R1-1"}
    past = {
        "stint": theirs.pk, "name": str(helper.pk), "work": "mount", "start": "2026-03-02T08:00",
        "end": "2026-03-02T09:00",
    }  # fmt: skip
    for answer in (
        sign_in(helper).post(url("today_entry", "stint-start"), begun), sign_in(lead).post(url("hours_enter"), past)
    ):  # fmt: skip
        assert answer.status_code == 422 and "already belongs to another" in answer.content.decode()
    assert list(Stint.objects.values_list("pk", flat=True)) == [theirs.pk]


@pytest.mark.parametrize("way", ["0", "sphere", "R1", "/" + "x" * 20_000, "//elsewhere.test/"])
def test_a_way_on_that_is_no_address_of_ours_is_left_aside(shed, lead, sign_in, way):
    answer = sign_in(lead).post(url("join_here"), {"next": way})
    assert answer.status_code == 302 and answer["Location"] == url("today")


@pytest.mark.parametrize("end", ["csv", "xlsx"])
def test_a_list_of_cuts_without_a_roll_length_says_what_it_needs(shed, lead, sign_in, end):
    answer = sign_in(lead).get(url("plan_table", "cuts", end), follow=True)
    assert answer.redirect_chain and "length of a roll" in answer.content.decode()
