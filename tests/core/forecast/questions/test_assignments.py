"""What is suggested for the coming shift: never later than without a search, closer together, rules kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import Piece, Run, World
from buildlog.core.forecast.questions.assignments import Handout, hand_out
from buildlog.core.forecast.simulate.arrays import Learned, reassigned, scene_of
from buildlog.core.forecast.simulate.state import ASSIGNED
from tests.core.forecast.small import finished, helper, world

POPULATE = frozenset({"populate"})


def ball(rings: int = 8, around: int = 4, **also) -> tuple[Piece, ...]:
    codes = [(ring, piece) for ring in range(1, rings + 1) for piece in range(1, around + 1)]
    return tuple(
        Piece(f"R{ring}-{piece}", 60, runs=(Run(piece, ring, 60),), ring=ring, **also) for ring, piece in codes
    )


@pytest.fixture(scope="module")
def crowd() -> World:
    crew = (
        helper("Una"),
        helper("Ivo", skills=POPULATE, populate_limit_h=1.0),
        helper("Mae", skills=frozenset({"wire"})),
    )
    return world(pieces=ball(), crew=crew)


@pytest.fixture(scope="module")
def found(crowd) -> Handout:
    return hand_out(crowd, seed=1)


def test_it_is_not_later_and_nobody_goes_further_than_without_a_search(crowd, found, monkeypatch):
    monkeypatch.setattr(assignments, "TRIES", 0)
    plain = hand_out(crowd, seed=1)
    assert found.plan.finish <= plain.plan.finish + assignments.SAME_H
    assert found.walk[1] < plain.walk[1], "the search brings pieces closer together"


def test_everybody_gets_what_they_can_do_within_their_hours_of_populating(crowd, found):
    assert found.handings
    for one in found.handings:
        assert set(one.stages) <= set(crowd.helpers[one.helper].skills)
    for number in range(3):
        own = [turn for turn in found.plan.on(found.day, number) if turn.work == "populate"]
        assert sum(turn.end - turn.start for turn in own) <= (crowd.helpers[number].populate_limit_h or 24) + 1e-6


def test_each_segment_goes_to_one_and_what_is_somebodys_stays(crowd):
    mine = tuple(replace(piece, assigned=0) if piece.ring == 1 else piece for piece in crowd.pieces)
    found = hand_out(replace(crowd, pieces=mine), seed=1)
    codes = [one.segment for one in found.handings]
    assert len(codes) == len(set(codes)) and not any(code.startswith("R1-") for code in codes)


def test_the_way_in_is_not_closed_by_it():
    closing = tuple(replace(piece, closing=piece.ring == 2) for piece in ball(2))
    found = hand_out(world(pieces=closing, crew=(helper("Una"), helper("Ivo"))), seed=1)
    inside = max(turn.end for turn in found.plan.turns if turn.segment.startswith("R1-"))
    assert all(turn.start >= inside - 1e-9 for turn in found.plan.turns
               if turn.segment.startswith("R2-") and turn.work == "mount")  # fmt: skip


def test_the_same_seed_suggests_the_same(crowd, found):
    assert hand_out(crowd, seed=1).handings == found.handings


@pytest.mark.parametrize("of", [finished(world()), world(crew=()), world(crew=(helper("Una", shifts=()),))])
def test_where_nobody_works_there_is_nothing_to_hand_out(of):
    assert hand_out(of, seed=1).handings == () and hand_out(of, seed=1).day is None


@pytest.mark.parametrize("owners", [{}, {"R1-1": 0}, {"R1-1": 1, "R2-3": 2, "R8-4": 0, "R3-1": 0}])
def test_a_scene_in_other_hands_is_the_one_made_anew(crowd, owners):
    learned = Learned(crowd)
    pieces = tuple(replace(piece, assigned=owners.get(piece.code)) for piece in crowd.pieces)
    other = replace(crowd, pieces=pieces)
    for mine, anew in zip(reassigned(scene_of(crowd, learned), other), scene_of(other, learned), strict=True):
        assert np.array_equal(mine, anew)


def test_who_is_not_there_again_is_given_nothing(crowd):
    away = replace(crowd, helpers=(*crowd.helpers[:2], replace(crowd.helpers[2], shifts=())))
    theirs = replace(away, pieces=tuple(replace(piece, assigned=2) for piece in away.pieces))
    assert (reassigned(scene_of(away, Learned(away)), theirs).seg[:, ASSIGNED : ASSIGNED + 4] == -1).all()
