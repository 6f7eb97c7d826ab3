"""What is suggested for the coming shift: never later than without a search, closer together, rules kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, RunInput, SegmentInput
from buildlog.core.forecast.questions import assignments
from buildlog.core.forecast.questions.assignments import Assignments, assign
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of, reassigned
from tests.core.forecast.small import finished, helper, inputs

POPULATE = frozenset({"populate"})


def ball(rings: int = 8, around: int = 4, **also) -> tuple[SegmentInput, ...]:
    codes = [(ring, segment) for ring in range(1, rings + 1) for segment in range(1, around + 1)]
    return tuple(
        SegmentInput(f"R{ring}-{segment}", 60, runs=(RunInput(segment, ring, 60),), ring=ring, **also)
        for ring, segment in codes
    )


@pytest.fixture(scope="module")
def crowd() -> ForecastInput:
    crew = (
        helper("Una"),
        helper("Ivo", skills=POPULATE, populate_limit_h=1.0),
        helper("Mae", skills=frozenset({"wire"})),
    )
    return inputs(segments=ball(), crew=crew)


@pytest.fixture(scope="module")
def found(crowd) -> Assignments:
    return assign(crowd, seed=1)


def test_it_is_not_later_and_nobody_goes_further_than_without_a_search(crowd, found, monkeypatch):
    monkeypatch.setattr(assignments, "TRIES", 0)
    plain = assign(crowd, seed=1)
    assert found.plan.finish <= plain.plan.finish + assignments.SAME_H
    assert found.walk[1] < plain.walk[1], "the search brings pieces closer together"


def test_everybody_gets_what_they_can_do_within_their_hours_of_populating(crowd, found):
    assert found.handovers
    for one in found.handovers:
        assert set(one.stages) <= set(crowd.helpers[one.helper].skills)
    for number in range(3):
        own = [turn for turn in found.plan.on(found.day, number) if turn.work == "populate"]
        assert sum(turn.end - turn.start for turn in own) <= (crowd.helpers[number].populate_limit_h or 24) + 1e-6


def test_each_segment_goes_to_one_and_what_is_somebodys_stays(crowd):
    mine = tuple(replace(segment, assigned=0) if segment.ring == 1 else segment for segment in crowd.segments)
    found = assign(replace(crowd, segments=mine), seed=1)
    codes = [one.segment for one in found.handovers]
    assert len(codes) == len(set(codes)) and not any(code.startswith("R1-") for code in codes)


def test_the_way_in_is_not_closed_by_it():
    closing = tuple(replace(segment, closing=segment.ring == 2) for segment in ball(2))
    found = assign(inputs(segments=closing, crew=(helper("Una"), helper("Ivo"))), seed=1)
    inside = max(turn.end for turn in found.plan.turns if turn.segment.startswith("R1-"))
    assert all(turn.start >= inside - 1e-9 for turn in found.plan.turns
               if turn.segment.startswith("R2-") and turn.work == "mount")  # fmt: skip


def test_the_same_seed_suggests_the_same(crowd, found):
    assert assign(crowd, seed=1).handovers == found.handovers


@pytest.mark.parametrize("of", [finished(inputs()), inputs(crew=()), inputs(crew=(helper("Una", shifts=()),))])
def test_where_nobody_works_there_is_nothing_to_hand_out(of):
    assert assign(of, seed=1).handovers == () and assign(of, seed=1).day is None


@pytest.mark.parametrize("owners", [{}, {"R1-1": 0}, {"R1-1": 1, "R2-3": 2, "R8-4": 0, "R3-1": 0}])
def test_a_scene_in_other_hands_is_the_one_made_anew(crowd, owners):
    learned = Learned(crowd)
    segments = tuple(replace(segment, assigned=owners.get(segment.code)) for segment in crowd.segments)
    other = replace(crowd, segments=segments)
    for mine, anew in zip(reassigned(arrays_of(crowd, learned), other), arrays_of(other, learned), strict=True):
        assert np.array_equal(mine, anew)


def test_who_is_not_there_again_is_given_nothing(crowd):
    away = replace(crowd, helpers=(*crowd.helpers[:2], replace(crowd.helpers[2], shifts=())))
    theirs = replace(away, segments=tuple(replace(segment, assigned=2) for segment in away.segments))
    assert (reassigned(arrays_of(away, Learned(away)), theirs).segments["assigned"] == -1).all()


def test_the_document_says_for_whom_what_and_when_it_ends(crowd, found):
    document = found.document()
    assert document.day.toordinal() == found.day
    assert [each.segment for each in document.assignments] == [each.segment for each in found.handovers]
    assert document.walk == tuple(round(rings, 2) for rings in found.walk)
    assert document.sentence.code == "assigned" and document.sentence.values["segments"] == len(found.handovers)
    assert document.sentence.values["helpers"] == len({each.helper for each in found.handovers})
    assert all(each.done == (0, 0, 0, 0) for each in document.assignments)


def test_with_nothing_left_there_is_nothing_to_hand_out(crowd):
    nothing = assign(finished(crowd), seed=1)
    document = nothing.document()
    assert (nothing.day, document.day, document.walk, document.assignments) == (None, None, (0.0, 0.0), ())
    assert document.sentence.code == "nothing_to_assign" and document.sentence.parts[0].code == "plan_done"


def test_what_is_somebodys_already_is_not_handed_out_again(crowd):
    mine = replace(crowd, segments=tuple(replace(segment, assigned=0) for segment in crowd.segments))
    assert assign(mine, seed=1).outcome.code == "all_assigned"
