"""Two people fit inside: a third one's stint does not begin, but nothing done without a network is lost."""

from __future__ import annotations

import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from buildlog.actions import stints
from buildlog.actions.deeds import Maker, perform
from buildlog.actions.ticks import Moment
from buildlog.core.errors import Refused
from buildlog.core.work.deeds import DeviceEntryKind, StintStart
from buildlog.core.work.stages import Stage
from tests.people import give_device, hours_after, join_crew, start_stint

LATER = hours_after(1)


@pytest.fixture
def full(shed, helper, other_helper):
    """Marek and Noor are inside to wire; Sune comes."""
    for person in (helper, other_helper):
        start_stint(person, segment=shed.segments.get(code="R1-1"), stage=Stage.WIRE)
    return join_crew(shed, "Sune")


def begin(person, *, at=LATER, arrived=None, stage=Stage.WIRE, companions=(), stint=None):
    deed = StintStart(stint or uuid.uuid4(), stage, None, None, tuple(one.pk for one in companions))
    moment = Moment(at, at, arrived or at)
    device = person.build.devices.first() or give_device(person.build)[0]
    perform(deed, Maker(person.build, person, device, uuid.uuid4(), DeviceEntryKind.STINT_START, moment))
    return deed.stint


def test_a_third_is_refused_with_the_names_of_those_inside(full):
    with pytest.raises(Refused, match="Marek and Noor are there to wire, and 2 people fit"):
        begin(full)
    assert not full.stints.exists()


def test_when_one_stops_the_next_may_begin(shed, helper, full):
    stints.stop(stint=helper.stints.get(), at=hours_after(0.5))
    begin(full)
    assert full.stints.get().stage == Stage.WIRE


def test_elsewhere_there_is_room(full):
    begin(full, stage=Stage.POPULATE)
    assert full.stints.exists()


def test_two_who_come_together_count_as_two(shed, helper, other_helper):
    start_stint(helper, segment=shed.segments.get(code="R1-1"), stage=Stage.WIRE)
    with pytest.raises(Refused, match="Marek is there to wire.*2 more"):
        begin(other_helper, companions=[join_crew(shed, "Sune")])


def test_the_lead_overrules_by_saying_that_more_fit(shed, lead, full):
    shed.people_limits = {"wire": 3}
    shed.save()
    full.refresh_from_db()
    begin(full)
    assert full.stints.exists()


def test_what_was_begun_without_a_network_is_kept_and_the_lead_is_told(shed, full):
    begin(full, arrived=hours_after(3))
    assert full.stints.exists()
    line = shed.records.get(verb="too many")
    assert line.says.startswith("Sune began to wire beside Marek and Noor") and line.at == LATER


def test_who_was_inside_counts_at_the_time_of_the_start_not_of_its_arrival(shed, helper, full):
    stints.stop(stint=helper.stints.get(), at=hours_after(2))
    begin(full, at=hours_after(2.5), arrived=hours_after(9))
    assert not shed.records.filter(verb="too many").exists()


def test_the_same_start_sent_again_is_not_refused(shed, helper, other_helper):
    start_stint(helper, segment=shed.segments.get(code="R1-1"), stage=Stage.WIRE)
    stint = begin(other_helper)
    shed.people_limits = {"wire": 1}
    shed.save()
    other_helper.refresh_from_db()
    assert begin(other_helper, stint=stint) == stint


def test_a_forgotten_stint_keeps_nobody_out(shed, full):
    begin(full, at=hours_after(20))
    assert full.stints.exists()


@pytest.mark.django_db(transaction=True)
def test_of_many_who_begin_at_the_same_moment_as_many_as_fit_do(shed):
    crew = [join_crew(shed, f"Helper {number}") for number in range(8)]
    give_device(shed)

    def one(person):
        try:
            begin(person)
        except Refused:
            return False
        finally:
            connection.close()
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(one, crew)) == 2
    assert shed.stints.running().count() == 2
