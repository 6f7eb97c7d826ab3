"""Today where as many people are at work as fit: who is there is said, and what happened without a network too."""

from __future__ import annotations

import pytest
from django.urls import reverse

from buildlog.actions import stints
from buildlog.core.work.stages import Stage
from tests.floor.tablet import Tablet
from tests.pages import text
from tests.people import MONDAY, client_of, give_device, hours_after, join_crew, start_stint, work_through


@pytest.fixture(autouse=True)
def now(server_clock):
    server_clock(MONDAY)
    return lambda hours: server_clock(hours_after(hours))


@pytest.fixture
def to_wire(shed, helper):
    """R1-1 waits to be wired, and two fit at it."""
    piece = shed.segments.get(code="R1-1")
    work_through(piece, Stage.MOUNT, by=helper)
    return piece


@pytest.fixture
def noor(other_helper, to_wire):
    start_stint(other_helper, segment=to_wire, stage=Stage.WIRE)
    return other_helper


@pytest.fixture
def full(shed, noor, to_wire):
    """Noor and Sune are at it."""
    sune = join_crew(shed, "Sune")
    start_stint(sune, segment=to_wire, stage=Stage.WIRE)
    return sune


def scanned(person, code="R1-1"):
    return client_of(person).get(reverse("today", args=["SHED"]), {"piece": code})


def test_who_scans_a_piece_where_nobody_fits_in_reads_who_is_there(helper, full):
    page = text(scanned(helper))
    assert "Noor and Sune are there to wire, and 2 people fit" in page
    assert "Start to wire" in page  # the page may be behind, and the server decides


def test_while_somebody_fits_nothing_is_said(helper, noor):
    assert scanned(helper).context["today"].no_room is None


def test_who_rests_keeps_the_place_and_that_is_said(helper, noor, full):
    stints.pause(stint=noor.stints.get(), at=MONDAY)
    assert "Noor (resting) and Sune are there" in scanned(helper).text


def test_who_is_inside_is_not_told_of_themselves(noor, full):
    assert scanned(noor).context["today"].no_room is None


def test_elsewhere_there_is_room(helper, full):
    assert scanned(helper, "R2-1").context["today"].no_room is None


@pytest.fixture
def one_too_many(shed, helper, full, client, now):
    """Marek began to wire at 10:00 without a network; his tablet is back on Tuesday."""
    device, key = give_device(shed)
    tablet = Tablet(device, key)
    word = tablet.word_of(helper, MONDAY)
    begun = tablet.entry("stint-start", word, MONDAY, stint=tablet.new_id(), stage="wire", segment="R1-1")
    now(26)
    client.cookies["device-SHED"] = key
    batch = tablet.batch([begun], hours_after(26))
    answer = client.post("/b/SHED/entries/", batch, content_type="application/json")
    assert [one["outcome"] for one in answer.json()["results"]] == ["stored"]


def test_the_lead_reads_that_too_many_were_at_once(lead, one_too_many):
    page = client_of(lead).get(reverse("today", args=["SHED"]))
    assert "Marek began to wire beside Noor and Sune, without a network: 3 people at once where 2 fit." in page.text
    assert "Mon 2 Mar, 10:00" in page.text


def test_it_is_told_for_three_days_from_when_it_arrived(lead, one_too_many, now):
    for hours, told in ((26 + 71, 1), (26 + 73, 0)):
        now(hours)
        desk = client_of(lead).get(reverse("today", args=["SHED"])).context["today"].desk
        assert len(desk.crowded) == told and desk.empty == (not told and not desk.in_doubt)


def test_a_helper_is_not_told(helper, one_too_many):
    assert client_of(helper).get(reverse("today", args=["SHED"])).context["today"].desk is None
