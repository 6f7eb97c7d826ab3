"""What the server does with entries from tablets: stored, had already, or refused with the reason, one by one."""

from __future__ import annotations

import json
import uuid
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.test import Client

from buildlog.actions import arrivals, crew, devices, ticks
from buildlog.core.work.envelope import Batch
from buildlog.core.work.stages import Stage
from buildlog.models import Arrival, LedgerEntry, Note, Stint
from tests.floor.conftest import outcomes, post_batch, reasons
from tests.floor.tablet import Tablet
from tests.people import MONDAY, client_of, start_stint, work_through

pytestmark = pytest.mark.django_db


def tick(tablet: Tablet, word: str, at=MONDAY, **data):
    return tablet.entry("tick", word, at, **{"segment": "R1-1", "stage": "populate", "pixels": 5} | data)


@pytest.fixture
def word(tablet, helper) -> str:
    return tablet.word_of(helper, MONDAY)


def counted(shed, code="R1-1") -> int:
    return shed.segments.get(code=code).populated


# ---- taking ---------------------------------------------------------------------------------


def test_a_tick_is_stored_with_its_sum(shed, helper, tablet, word, send):
    answer = send(tablet, [tick(tablet, word)])
    assert outcomes(answer) == ["stored"]
    assert counted(shed) == 5
    assert LedgerEntry.objects.get().actor == helper
    assert answer.json()["server_at"] == round(MONDAY.timestamp() * 1000)


def test_nobody_has_to_be_signed_in_when_it_arrives(tablet, word, send):
    """What posts here has the cookie of the device, no session and no form token, and the token is asked for."""
    answer = send(tablet, [tick(tablet, word)])
    assert outcomes(answer) == ["stored"]
    assert "sessionid" not in answer.client.cookies


def test_the_same_entry_again_counts_once(shed, tablet, word, send):
    entry = tick(tablet, word)
    assert [outcomes(send(tablet, [entry]))[0] for _ in range(3)] == ["stored", "had", "had"]
    assert counted(shed) == 5


def test_the_same_entry_twice_in_one_batch_counts_once(shed, tablet, word, send):
    entry = tick(tablet, word)
    assert outcomes(send(tablet, [entry, entry])) == ["stored", "had"]
    assert counted(shed) == 5


@pytest.mark.parametrize(
    "change", [{"pixels": 6}, {"segment": "R1-2"}, {"stage": "mount"}], ids=["pixels", "segment", "stage"]
)
def test_the_same_id_with_other_content_is_refused_and_the_first_kept(shed, tablet, word, send, change):
    entry = tick(tablet, word)
    other = entry | {"data": entry["data"] | change}
    send(tablet, [entry])
    answer = send(tablet, [other, tick(tablet, word)])
    assert outcomes(answer) == ["refused", "stored"]
    assert "other content" in reasons(answer)[0]
    assert counted(shed) == 10


def test_the_same_id_by_another_person_is_refused(tablet, word, other_helper, send):
    entry = tick(tablet, word)
    send(tablet, [entry])
    assert outcomes(send(tablet, [entry | {"actor": tablet.word_of(other_helper, MONDAY)}])) == ["refused"]


def test_a_refusal_is_remembered_although_it_would_pass_later(shed, helper, tablet, word, send):
    entry = tick(tablet, word, stage="mount")
    first = send(tablet, [entry])
    work_through(shed.segments.get(code="R1-1"), Stage.POPULATE, by=helper)
    again = send(tablet, [entry])
    assert outcomes(first) == outcomes(again) == ["refused"]
    assert reasons(first) == reasons(again)
    kept = Arrival.objects.get(pk=entry["id"])
    assert (kept.outcome, kept.reason) == ("refused", reasons(first)[0])


def test_refused_entries_hold_up_none_behind_them(shed, tablet, word, send):
    answer = send(
        tablet,
        [
            tick(tablet, word, segment="R99-1"),
            tick(tablet, word, stage="wire"),
            tick(tablet, word, pixels=9_999),
            tick(tablet, word),
        ],
    )
    assert outcomes(answer) == ["refused", "refused", "refused", "stored"]
    assert all(len(reason) > 20 for reason in reasons(answer)[:3])


def test_the_reason_is_the_sentence_of_the_rules_of_order(tablet, word, send):
    (reason,) = reasons(send(tablet, [tick(tablet, word, stage="mount")]))
    assert "populate first, then mount" in reason


def test_an_undo_takes_its_tick_back(shed, tablet, word, send):
    entry = tick(tablet, word)
    send(tablet, [entry, tablet.entry("undo", word, MONDAY, undoes=entry["id"])])
    assert counted(shed) == 0


def test_a_segment_that_the_plan_no_longer_has_is_refused(shed, tablet, word, send):
    shed.segments.filter(code="R1-1").update(retired_at=MONDAY)
    assert outcomes(send(tablet, [tick(tablet, word), tick(tablet, word, segment="R1-2")])) == ["refused", "stored"]


def test_a_note_reaches_the_lead(shed, helper, tablet, word, send):
    send(tablet, [tablet.entry("note", word, MONDAY, segment="R1-1", says="Two holes torn")])
    note = Note.objects.get()
    assert (note.says, note.by, note.segment.code) == ("Two holes torn", helper, "R1-1")


def test_the_lead_sees_how_the_device_stands(tablet, word):
    tablet.off = timedelta(hours=3)
    sent, now = MONDAY + timedelta(minutes=7), MONDAY + timedelta(minutes=7, seconds=1)
    batch = tablet.batch([tick(tablet, word)], sent, waiting=4)
    arrivals.receive(device=tablet.device, batch=Batch.read(batch), now=now)
    device = tablet.device
    device.refresh_from_db()
    assert (device.last_seen_at, device.waiting, device.last_sequence) == (now, 3, 1)
    assert device.clock_offset_s == pytest.approx(3 * 3600 - 1)
    assert device.oldest_waiting_at == MONDAY + timedelta(seconds=1)


# ---- who may --------------------------------------------------------------------------------


def test_a_revoked_device_is_refused_entry_by_entry(shed, lead, tablet, word, send):
    devices.revoke(device=tablet.device, by=lead, now=MONDAY)
    answer = send(tablet, [tick(tablet, word), tick(tablet, word)])
    assert outcomes(answer) == ["refused", "refused"]
    assert "taken off the build" in reasons(answer)[0]
    assert Arrival.objects.filter(outcome="refused").count() == 2
    assert counted(shed) == 0


def test_who_left_the_crew_is_refused_and_the_others_are_stored(shed, lead, helper, other_helper, tablet, word, send):
    crew.leave(person=helper, by=lead, now=MONDAY)
    others = tablet.word_of(other_helper, MONDAY)
    answer = send(tablet, [tick(tablet, word), tick(tablet, others)])
    assert outcomes(answer) == ["refused", "stored"]
    assert reasons(answer)[0] == "Marek has left the crew: show this to the lead."


def test_a_word_made_on_another_device_does_not_count(new_tablet, helper, send):
    here, there = new_tablet(), new_tablet()
    answer = send(here, [tick(here, there.word_of(helper, MONDAY))])
    assert "made on another device" in reasons(answer)[0]


@pytest.mark.parametrize("forged", ["", "x", "eyJ4Ijoi.abc", "[1,2,3]:abc"])
def test_a_forged_word_does_not_count(tablet, send, forged):
    assert outcomes(send(tablet, [tick(tablet, forged)])) == ["refused"]


def test_a_word_that_was_changed_does_not_count(tablet, word, send):
    head, _, tail = word.partition(":")
    assert outcomes(send(tablet, [tick(tablet, f"{head[:-1]}A:{tail}")])) == ["refused"]


def test_a_device_that_never_joined_is_told_to(tablet, word):
    batch = tablet.batch([tick(tablet, word)], MONDAY)
    assert post_batch(tablet, batch, key="nonsense").status_code == 401
    assert Client().post("/b/SHED/entries/", batch, content_type="application/json").status_code == 401


def test_a_device_of_another_build_is_a_stranger_here(tablet, outsider, word):
    batch = tablet.batch([tick(tablet, word)], MONDAY)
    client = client_of(outsider, (tablet.device, tablet.key))
    assert client.post("/b/LOFT/entries/", batch, content_type="application/json").status_code == 401


def test_a_sign_in_of_weeks_ago_makes_no_more_entries(tablet, word, send):
    late = MONDAY + timedelta(days=15)
    answer = send(tablet, [tick(tablet, word, at=late)], at=late)
    assert "more than 14 days old" in reasons(answer)[0]


def test_what_was_made_while_the_sign_in_was_good_is_stored_however_late_it_arrives(shed, tablet, word, send):
    made = tick(tablet, word, at=MONDAY + timedelta(hours=1))
    assert outcomes(send(tablet, [made], at=MONDAY + timedelta(days=40))) == ["stored"]
    assert LedgerEntry.objects.get().at == MONDAY + timedelta(hours=1)


def test_only_members_and_the_lead_end_a_stint(shed, lead, helper, other_helper, tablet, send):
    stint = start_stint(other_helper, segment=shed.segments.get(code="R1-1"))
    words = [tablet.word_of(person, MONDAY) for person in (helper, lead)]
    later = MONDAY + timedelta(hours=1)
    answer = send(tablet, [tablet.entry("stint-stop", word, later, stint=str(stint.pk)) for word in words], at=later)
    assert outcomes(answer) == ["refused", "stored"]
    assert "somebody else's stint" in reasons(answer)[0]


def test_somebody_elses_tick_is_not_undone(shed, other_helper, tablet, word, send):
    entry_id = uuid.uuid4()
    ticks.tick(
        build=shed, actor=other_helper, entry_id=entry_id, segment_code="R1-1", stage=Stage.POPULATE, pixels=3,
        moment=ticks.Moment.now(MONDAY),
    )  # fmt: skip
    assert outcomes(send(tablet, [tablet.entry("undo", word, MONDAY, undoes=str(entry_id))])) == ["refused"]


# ---- what is not what it should be ----------------------------------------------------------

BAD_ENTRIES = [
    None, 7, "tick", [], {}, {"id": "x"},
    {"sequence": 0}, {"sequence": True}, {"sequence": "1"}, {"sequence": 2**60}, {"sequence": 1.5},
    {"id": "not-an-id"}, {"id": "C0FFEE00-0000-4000-8000-000000000000"}, {"id": "c0ffee00-0000-1000-8000-000000000000"},
    {"kind": "reopen"}, {"kind": None}, {"made_at": -1}, {"made_at": 10**18}, {"made_at": "now"}, {"data": []},
    {"data": {}}, {"extra": 1}, {"actor": 5}, {"actor": "a" * 5_000},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": 0}},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": -5}},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": 2.5}},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": True}},
    {"data": {"segment": "R1-1", "stage": "polish", "pixels": 1}},
    {"data": {"segment": "R1-1\x00", "stage": "populate", "pixels": 1}},
    {"data": {"segment": "\ud800", "stage": "populate", "pixels": 1}},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": 1, "stint": "x"}},
    {"data": {"segment": "R1-1", "stage": "populate", "pixels": 1, "by": 3}},
    {"kind": "note", "data": {"segment": "R1-1", "says": " "}},
    {"kind": "note", "data": {"segment": "R1-1", "says": "x" * 401}},
    {"kind": "stint-start", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000"}},
    {"kind": "stint-start", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000", "stage": "wire", "job": "paint"}},
    {"kind": "stint-start", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000", "job": "no such"}},
    {"kind": "stint-start", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000", "stage": "wire", "with": ["a"]}},
    {"kind": "stint-start", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000", "stage": "wire", "with": [9999]}},
    {"kind": "stint-stop", "data": {"stint": "c0ffee00-0000-4000-8000-000000000000"}},
]  # fmt: skip


@pytest.mark.parametrize("bad", BAD_ENTRIES, ids=lambda bad: ascii(bad)[:60])
def test_an_entry_that_is_not_what_it_should_be_is_refused_and_the_next_is_stored(shed, tablet, word, send, bad):
    entry = tick(tablet, word) | bad if isinstance(bad, dict) and bad else bad
    answer = send(tablet, [entry, tick(tablet, word)])
    assert outcomes(answer) == ["refused", "stored"]
    assert counted(shed) == 5
    assert reasons(answer)[0] != arrivals.OWN_FAULT
    assert not Stint.objects.exists()


@pytest.mark.parametrize(
    "body",
    [
        b" ",
        b"nothing",
        b"\xff\xfe",
        b"[]",
        b'"text"',
        b"{}",
        b'{"device": 1}',
        b"[" * 100_000,
        b'{"a":' * 20_000,
        b'{"device": NaN}',
        b'{"sent_at": ' + b"9" * 5_000 + b"}",
    ],
    ids=lambda body: repr(body[:12]),
)
def test_a_body_that_is_no_batch_is_refused_whole(tablet, body):
    answer = post_batch(tablet, body)
    assert answer.status_code == 400
    assert len(answer.json()["problem"]) > 15


def test_more_entries_than_a_batch_holds_are_refused_whole(shed, tablet, word, send):
    assert send(tablet, [tick(tablet, word, pixels=1) for _ in range(26)]).status_code == 400
    assert counted(shed) == 0


def test_a_body_that_is_too_large_is_not_read(tablet):
    assert post_batch(tablet, b" " * 200_000).status_code == 413


def test_a_form_is_not_read(tablet):
    client = Client()
    client.cookies["device-SHED"] = tablet.key
    assert client.post("/b/SHED/entries/", {"device": "1"}).status_code == 415


def test_pages_from_elsewhere_are_turned_away(tablet, word):
    batch = tablet.batch([tick(tablet, word)], MONDAY)
    assert post_batch(tablet, batch, HTTP_SEC_FETCH_SITE="cross-site").status_code == 403


def test_looking_changes_nothing(tablet):
    client = Client()
    client.cookies["device-SHED"] = tablet.key
    assert client.get("/b/SHED/entries/").status_code == 405


def test_a_device_that_runs_wild_is_slowed(tablet, monkeypatch):
    monkeypatch.setattr("buildlog.views.entries.PACE.most", 3)
    batch = tablet.batch([], MONDAY)
    assert [post_batch(tablet, batch).status_code for _ in range(5)] == [200, 200, 200, 429, 429]


def test_a_fault_of_the_program_holds_up_nobody(shed, tablet, word, send, monkeypatch):
    def trip(deed, maker):
        raise ZeroDivisionError

    with monkeypatch.context() as broken:
        broken.setattr(arrivals, "perform", trip)
        entry = tick(tablet, word)
        assert reasons(send(tablet, [entry])) == [arrivals.OWN_FAULT]
    assert outcomes(send(tablet, [entry])) == ["stored"]  # a fault is not remembered against the entry


def test_of_a_batch_only_the_entry_that_trips_the_program_is_left_out(shed, tablet, word, send, monkeypatch):
    perform = arrivals.perform

    def trip(deed, maker):
        perform(deed, maker)
        if deed.pixels == 7:
            raise ZeroDivisionError

    monkeypatch.setattr(arrivals, "perform", trip)
    entries = [tick(tablet, word, pixels=pixels) for pixels in (1, 7, 2)]
    assert outcomes(send(tablet, entries)) == ["stored", "refused", "stored"]
    assert counted(shed) == 3
    monkeypatch.setattr(arrivals, "perform", perform)
    assert outcomes(send(tablet, entries)) == ["had", "stored", "had"]
    assert counted(shed) == 10


def test_a_database_that_is_away_answers_nothing_and_keeps_nothing(shed, tablet, word, send, monkeypatch):
    perform = arrivals.perform

    def lose_it(deed, maker):
        if deed.pixels == 7:
            raise OperationalError("database is locked")
        perform(deed, maker)

    monkeypatch.setattr(arrivals, "perform", lose_it)
    entries = [tick(tablet, word, pixels=pixels) for pixels in (1, 7, 2)]
    assert outcomes(send(tablet, entries)) == []
    assert counted(shed) == 0
    monkeypatch.setattr(arrivals, "perform", perform)
    assert outcomes(send(tablet, entries)) == ["stored"] * 3


def test_a_tick_asks_the_database_little(tablet, word, send, django_assert_num_queries):
    """However many there are: build, device, person; contact, what is on file of arrivals and entries; segment, sum;
    entries and arrivals kept; and on PostgreSQL the lock. Only another piece takes two more, its segment and sum.
    """
    send(tablet, [tick(tablet, word)])
    lock = 1 if connection.features.has_select_for_update else 0
    transaction = 2  # in this test it is a savepoint
    for ticks_sent in (1, 4):
        with django_assert_num_queries(transaction + 10 + lock):
            send(tablet, [tick(tablet, word, pixels=1) for _ in range(ticks_sent)])


def test_what_a_note_says_is_kept_to_the_letter(tablet, word, send):
    says = "Loch größer – дырка «7», 孔, =1+1 <b>"
    send(tablet, [tablet.entry("note", word, MONDAY, segment="R1-1", says=says)])
    assert Note.objects.get().says == says
    assert json.loads(json.dumps(Arrival.objects.get().body))["says"] == says


@pytest.mark.parametrize("length", ["abc", "-5", "²"])
def test_a_length_that_is_no_number_is_said(tablet, send, length):
    answer = send(tablet, [], CONTENT_LENGTH=length)
    assert answer.status_code == 400 and "not a number" in answer.json()["problem"]
