"""Whose work it is: fixed when the entry is made, shared by those of the stint."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from buildlog.models import LedgerEntry, Stint
from tests.floor.conftest import outcomes, reasons
from tests.people import MONDAY, client_of

pytestmark = pytest.mark.django_db


def tick(tablet, word, at=MONDAY, **data):
    return tablet.entry("tick", word, at, **{"segment": "R1-1", "stage": "populate", "pixels": 5} | data)


def start(tablet, word, at=MONDAY, **data):
    stint = str(uuid.uuid4())
    return stint, tablet.entry("stint-start", word, at, stint=stint, stage="populate", **data)


def test_an_expired_sign_in_and_another_person_meanwhile_change_nothing(shed, helper, other_helper, tablet, send):
    """Marek ticks offline, his sign-in ends, Noor signs in on the tablet; only then there is a network."""
    made = tick(tablet, tablet.word_of(helper, MONDAY), at=MONDAY + timedelta(hours=1))
    session_of_noor = client_of(other_helper, (tablet.device, tablet.key))
    later = MONDAY + timedelta(days=20)
    hers = tick(tablet, tablet.word_of(other_helper, later), at=later)
    send(tablet, [], at=later)
    answer = session_of_noor.post(
        "/b/SHED/entries/", tablet.batch([made, hers], later), content_type="application/json"
    )
    assert outcomes(answer) == ["stored", "stored"]
    assert {entry.pk: entry.actor for entry in LedgerEntry.objects.all()} == {
        uuid.UUID(made["id"]): helper,
        uuid.UUID(hers["id"]): other_helper,
    }


def test_a_tick_credits_all_of_its_stint(helper, other_helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    stint, begun = start(tablet, word, **{"with": [other_helper.pk]})
    assert outcomes(send(tablet, [begun, tick(tablet, word, stint=stint)])) == ["stored", "stored"]
    entry = LedgerEntry.objects.get()
    assert set(entry.stint.people.all()) == {helper, other_helper}


def test_a_tick_whose_stint_was_refused_is_stored_for_who_ticked(shed, helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    _, first = start(tablet, word)
    second, again = start(tablet, word)
    answer = send(tablet, [first, again, tick(tablet, word, stint=second)])
    assert outcomes(answer) == ["stored", "refused", "stored"]
    assert reasons(answer)[1] == "Marek is in a running stint (populate): stop that one first."
    entry = LedgerEntry.objects.get()
    assert (entry.stint, entry.actor) == (None, helper)


def test_a_tick_does_not_credit_a_stint_of_others(helper, other_helper, tablet, send):
    stint, begun = start(tablet, tablet.word_of(other_helper, MONDAY))
    send(tablet, [begun, tick(tablet, tablet.word_of(helper, MONDAY), stint=stint)])
    assert LedgerEntry.objects.get().stint is None


def test_a_stint_for_two_needs_both_free(helper, other_helper, new_tablet, send):
    one, other = new_tablet(), new_tablet()
    _, alone = start(other, other.word_of(other_helper, MONDAY))
    _, both = start(one, one.word_of(helper, MONDAY), **{"with": [other_helper.pk]})
    assert outcomes(send(other, [alone])) == ["stored"]
    assert outcomes(send(one, [both])) == ["refused"]
    assert Stint.objects.count() == 1


def test_strangers_do_not_share_a_stint(helper, outsider, viewer, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    tries = [start(tablet, word, **{"with": [who.pk]})[1] for who in (outsider, viewer)]
    assert outcomes(send(tablet, tries)) == ["refused", "refused"]


def test_nobody_joins_a_stint_by_starting_it_again(helper, other_helper, tablet, send):
    stint, begun = start(tablet, tablet.word_of(other_helper, MONDAY))
    same = tablet.entry("stint-start", tablet.word_of(helper, MONDAY), MONDAY, stint=stint, stage="populate")
    assert outcomes(send(tablet, [begun, same])) == ["stored", "refused"]
    assert [person.name for person in Stint.objects.get().people.all()] == ["Noor"]


def test_a_stint_on_a_job_is_named_by_it(shed, helper, tablet, send):
    shed.jobs.create(name="frame", hours_low=1, hours_likely=2, hours_high=3)
    word = tablet.word_of(helper, MONDAY)
    begun = tablet.entry("stint-start", word, MONDAY, stint=str(uuid.uuid4()), job="frame")
    assert outcomes(send(tablet, [begun])) == ["stored"]
    assert Stint.objects.get().job.name == "frame"
