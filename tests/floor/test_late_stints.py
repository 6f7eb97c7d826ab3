"""Stints begun and ended where no network was, which arrive when the next one runs already: kept, and asked about."""

from __future__ import annotations

import pytest

from buildlog.actions import stints
from buildlog.core.work.stages import Stage
from buildlog.core.work.stints import Spell
from buildlog.models import Stint
from tests.floor.conftest import outcomes, reasons
from tests.people import hours_after, start_stint

pytestmark = pytest.mark.django_db

YESTERDAY, TODAY = hours_after(0), hours_after(24)
ARRIVES = hours_after(25)
STINT = "8a1f7c52-64f7-4d3e-9a0e-0d5b3f6a7c11"


@pytest.fixture
def word(tablet, helper) -> str:
    return tablet.word_of(helper, YESTERDAY)


@pytest.fixture
def today(shed, helper) -> Stint:
    """What Marek began this morning on another tablet, and is at now."""
    return start_stint(helper, segment=shed.segments.get(code="R2-1"), at=TODAY)


def begun(tablet, word, at=YESTERDAY, stint=STINT):
    return tablet.entry("stint-start", word, at, stint=stint, stage="populate", segment="R1-1")


def mark(kind, tablet, word, at, stint=STINT):
    return tablet.entry(f"stint-{kind}", word, at, stint=stint)


def kept() -> Stint:
    return Stint.objects.get(pk=STINT)


def test_a_start_of_yesterday_is_kept_although_todays_stint_runs(today, helper, tablet, word, send):
    ticked = tablet.entry("tick", word, hours_after(1), segment="R1-1", stage="populate", pixels=5, stint=STINT)
    assert outcomes(send(tablet, [begun(tablet, word), ticked], at=ARRIVES)) == ["stored", "stored"]
    assert (kept().state, kept().started_at, kept().ended_at) == ("to_confirm", YESTERDAY, hours_after(12))
    assert "the next stint began on Tue 2026-03-03 at 10:00" in kept().doubt
    assert kept().entries.get().pixels == 5
    today.refresh_from_db()
    assert today.state == "running" and helper.stint_members.filter(open=True).get().stint == today


def test_its_own_stop_makes_it_whole(today, tablet, word, send):
    entries = [
        begun(tablet, word),
        mark("pause", tablet, word, hours_after(2)),
        mark("resume", tablet, word, hours_after(2.5)),
        mark("stop", tablet, word, hours_after(6)),
    ]
    assert set(outcomes(send(tablet, entries, at=ARRIVES))) == {"stored"}
    assert (kept().state, kept().ended_at, kept().hours) == ("closed", hours_after(6), 5.5)


def test_the_stint_that_follows_closely_bounds_it(shed, helper, tablet, word, send):
    start_stint(helper, segment=shed.segments.get(code="R2-1"), at=hours_after(3))
    send(tablet, [begun(tablet, word)], at=ARRIVES)
    assert (kept().state, kept().ended_at) == ("to_confirm", hours_after(3))


def test_a_start_while_another_ran_already_is_refused(shed, helper, tablet, word, send):
    start_stint(helper, segment=shed.segments.get(code="R2-1"), at=YESTERDAY)
    answer = send(tablet, [begun(tablet, word, hours_after(1))], at=hours_after(3))
    assert outcomes(answer) == ["refused"]
    assert "Marek is in a running stint (populate)" in reasons(answer)[0]


def test_at_once_two_starts_stay_one(shed, helper, tablet, word, send):
    """The other one travelled faster: nobody was without a network."""
    start_stint(helper, segment=shed.segments.get(code="R2-1"), at=hours_after(0.001))
    assert outcomes(send(tablet, [begun(tablet, word)], at=hours_after(0.002))) == ["refused"]


def test_what_was_taken_for_forgotten_gets_the_end_that_comes_late(shed, tablet, word, send):
    send(tablet, [begun(tablet, word)], at=YESTERDAY)
    later = mark("stop", tablet, word, hours_after(7))
    other = tablet.entry("stint-start", word, hours_after(24), stint=STINT.replace("8", "9", 1), stage="wire")
    send(tablet, [other], at=hours_after(24))
    assert kept().state == "to_confirm" and kept().ended_at == hours_after(12)
    assert outcomes(send(tablet, [later], at=hours_after(25))) == ["stored"]
    assert (kept().state, kept().ended_at) == ("closed", hours_after(7))


def test_an_end_after_the_guess_changes_nothing(today, tablet, word, send):
    entries = [begun(tablet, word), mark("stop", tablet, word, hours_after(13))]
    assert outcomes(send(tablet, entries, at=ARRIVES)) == ["stored", "stored"]
    assert (kept().state, kept().ended_at) == ("to_confirm", hours_after(12))


def test_where_the_time_was_given_to_another_stint_meanwhile_it_stays_in_doubt(shed, helper, today, tablet, word, send):
    send(tablet, [begun(tablet, word)], at=ARRIVES)
    work = stints.Work(stage=Stage.WIRE)
    other = STINT.replace("8", "7", 1)
    spell = Spell(hours_after(1), hours_after(2))
    stints.log(build=shed, stint_id=other, people=[helper], work=work, spell=spell)
    send(tablet, [mark("stop", tablet, word, hours_after(4))], at=ARRIVES)
    assert (kept().state, kept().ended_at) == ("to_confirm", hours_after(4))
    assert "has a stint there already" in kept().doubt


def test_the_order_of_arrival_decides_nothing_about_the_hours(shed, helper, new_tablet, send):
    """Yesterday's from one tablet, today's from another, whichever comes first."""
    for first in (0, 1):
        pair = [new_tablet(), new_tablet()]
        words = [one.word_of(helper, YESTERDAY) for one in pair]
        ids = [one.new_id() for one in pair]
        old = [begun(pair[0], words[0], stint=ids[0]), mark("stop", pair[0], words[0], hours_after(4), stint=ids[0])]
        new = [begun(pair[1], words[1], TODAY, ids[1]), mark("stop", pair[1], words[1], hours_after(24.5), ids[1])]
        batches = [(pair[0], old), (pair[1], new)]
        for tablet, entries in (batches[first], batches[1 - first]):
            assert set(outcomes(send(tablet, entries, at=ARRIVES))) == {"stored"}
        assert sorted(stint.hours for stint in Stint.objects.counted()) == [0.5, 4.0]
        Stint.objects.all().delete()
