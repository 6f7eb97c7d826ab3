"""Stints on the floor and afterwards."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from buildlog.actions import stints, ticks
from buildlog.core.errors import Refused
from buildlog.core.work.stages import Stage
from buildlog.core.work.stints import Spell
from buildlog.models import Stint
from buildlog.queries.audit import differences
from tests.people import MONDAY, hours_after, start_stint


@pytest.fixture
def first(shed):
    return shed.segments.current().first()


def log(build, *people, start=0.0, end=1.0, rest=timedelta(0), stint_id=None):
    return stints.log(
        build=build, stint_id=stint_id or uuid.uuid4(), people=people, work=stints.Work(stage=Stage.MOUNT),
        spell=Spell(hours_after(start), hours_after(end), rest),
    )  # fmt: skip


def test_a_stint_has_the_hours_between_start_and_stop_without_its_breaks(helper, first):
    stint = start_stint(helper, segment=first)
    stints.pause(stint=stint, at=hours_after(1))
    stints.resume(stint=stint, at=hours_after(1.25))
    stint = stints.stop(stint=stint, at=hours_after(2))
    assert (stint.state, stint.hours) == (Stint.State.CLOSED, 1.75)


def test_stopping_during_a_break_leaves_the_break_out(helper, first):
    stint = start_stint(helper, segment=first)
    stints.pause(stint=stint, at=hours_after(1))
    assert stints.stop(stint=stint, at=hours_after(3)).hours == 1


def test_a_helper_has_one_open_stint_and_is_told_which(helper, other_helper, first):
    start_stint(helper, segment=first)
    with pytest.raises(Refused, match=r"Marek is in a running stint \(populate\)"):
        start_stint(other_helper, helper, segment=first)
    assert not other_helper.stints.exists()


def test_starting_and_stopping_twice_changes_nothing(shed, helper, first):
    stint = start_stint(helper, segment=first)
    work = stints.Work(stage=Stage.POPULATE, segment=first)
    again = stints.start(build=shed, stint_id=stint.pk, people=[helper], work=work, at=hours_after(5))
    assert again.started_at == MONDAY
    stints.stop(stint=stint, at=hours_after(1))
    assert stints.stop(stint=stint, at=hours_after(2)).ended_at == hours_after(1)


def test_stints_of_one_helper_do_not_share_time(shed, helper):
    log(shed, helper, start=0, end=1)
    with pytest.raises(Refused, match="Marek has a stint there already: mount, Mon 2026-03-02 10:00–11:00"):
        log(shed, helper, start=0.5, end=1.5)
    log(shed, helper, start=1, end=2)


def test_an_impossible_spell_is_refused(shed, helper):
    with pytest.raises(Refused, match="before it starts"):
        log(shed, helper, start=1, end=0)
    with pytest.raises(Refused, match="longer than the stint"):
        log(shed, helper, rest=timedelta(hours=2))


def test_viewers_and_strangers_do_no_stints(shed, viewer, outsider):
    for person in (viewer, outsider):
        with pytest.raises(Refused, match="does not work on this build"):
            log(shed, person)


def test_a_forgotten_stint_waits_for_somebodys_word_and_claims_no_time(shed, helper, first):
    stint = start_stint(helper, segment=first)
    assert stints.close_forgotten(build=shed, now=hours_after(11)) == 0
    assert stints.close_forgotten(build=shed, now=hours_after(14)) == 1
    stint.refresh_from_db()
    assert (stint.state, stint.ended_at) == (Stint.State.TO_CONFIRM, hours_after(12))
    assert not Stint.objects.counted().exists()
    log(shed, helper, start=10, end=11)
    assert differences(shed) == []


def test_a_stint_past_midnight_with_a_tick_after_it_is_believed(shed, helper, first):
    late = start_stint(helper, segment=first, at=hours_after(12))  # 22:00 in the shed
    ticks.tick(
        build=shed, actor=helper, entry_id=uuid.uuid4(), segment_code=first.code, stage=Stage.POPULATE, pixels=1,
        moment=ticks.Moment.now(hours_after(14.5)), stint=late,
    )  # fmt: skip
    assert stints.stop(stint=late, at=hours_after(15)).state == Stint.State.CLOSED


def test_a_doubtful_stint_counts_once_confirmed_or_put_right(shed, lead, helper, first):
    stint = start_stint(helper, segment=first)
    stints.close_forgotten(build=shed, now=hours_after(20))
    fixed = stints.correct(stint=stint, spell=Spell(MONDAY, hours_after(2)), by=lead, at=hours_after(21))
    assert (fixed.state, fixed.hours) == (Stint.State.CLOSED, 2)
    kept = shed.records.get(verb="correct stint").detail
    assert kept["old"]["ended_at"] == hours_after(12).isoformat()
    other = start_stint(helper, segment=first, at=hours_after(24))
    stints.close_forgotten(build=shed, now=hours_after(40))
    assert stints.confirm(stint=other, by=lead, at=hours_after(41)).state == Stint.State.CLOSED


def test_a_doubtful_stint_is_not_confirmed_over_other_work(shed, lead, helper, first):
    stint = start_stint(helper, segment=first)
    stints.close_forgotten(build=shed, now=hours_after(14))
    log(shed, helper, start=5, end=6)
    with pytest.raises(Refused, match="has a stint there already"):
        stints.confirm(stint=stint, by=lead, at=hours_after(15))
