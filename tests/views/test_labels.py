"""Where a scanned label leads: members to the piece, strangers nowhere that says anything."""

from __future__ import annotations

import pytest
from django.urls import reverse

from buildlog import access
from buildlog.models import Segment
from tests.pages import text
from tests.people import PASSWORD, client_of, give_device

pytestmark = pytest.mark.screen


@pytest.fixture
def marek(helper):
    return client_of(helper)


def piece(shed, code: str) -> Segment:
    return shed.segments.get(code=code)


@pytest.mark.parametrize("address", ["/s/{}/", "/S/{}"])
def test_a_scanned_label_leads_to_its_piece(shed, marek, address):
    found = piece(shed, "R2-3")
    answer = marek.get(address.format(found.label), follow=True)
    assert answer.context["today"].piece.cell.code == "R2-3"


def test_a_scan_on_a_tablet_of_the_build_asks_who_it_is_and_comes_back(shed, client):
    client.cookies[access.device_cookie(shed)] = give_device(shed)[1]
    answer = client.get(f"/s/{piece(shed, 'R2-3').label}/", follow=True)
    assert answer.redirect_chain[-1][0].startswith("/b/SHED/join/?next=%2Fb%2FSHED%2Ftoday%2F%3Fpiece%3DR2-3")


def test_a_scanning_viewer_sees_the_segment(shed, viewer):
    answer = client_of(viewer).get(f"/s/{piece(shed, 'R2-3').label}/")
    assert answer.headers["Location"] == "/b/SHED/segments/R2-3/"


def test_a_label_tells_a_stranger_nothing_and_leads_the_lead_on_after_signing_in(shed, client):
    label = piece(shed, "R2-3").label
    real, none = client.get(f"/s/{label}/"), client.get("/s/ZZZZZ/")
    assert (real.status_code, none.status_code) == (302, 302) and real["Location"] == f"/?next=%2Fs%2F{label}%2F"
    assert none["Location"] == real["Location"].replace(label, "ZZZZZ")
    page = text(client.get(real["Location"]))
    assert f"/sign-in/?next=%2Fs%2F{label}%2F" in page and "SHED" not in page
    said = {"username": "Ilse", "password": PASSWORD, "next": f"/s/{label}/"}
    answer = client.post(reverse("sign_in"), said, follow=True)
    assert answer.context["today"].piece.cell.code == "R2-3"


def test_a_label_that_is_none_is_not_found_nor_is_one_of_another_build(shed, marek, outsider):
    for label in ("ZZZZZ", outsider.build.segments.first().label):
        for client in (marek, client_of(shed.people.get(name="Ilse"))):
            assert client.get(f"/s/{label}/").status_code == 404
