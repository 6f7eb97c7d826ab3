"""Which pieces to hand to whom for the coming shift, as a suggestion.

It begins with who works on what on the first day of the day plan, and is improved by a search: pieces are swapped,
given to somebody else or left free, and the day plan is made again each time. What shortens the finish is kept, and
what brings the pieces of one helper closer together without making it later. The day plan itself sees to skills, hand
load, room and the order in which the way in is closed. Pieces that are somebody's already stay theirs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from buildlog.core.forecast.calendar import last_known
from buildlog.core.forecast.input import World
from buildlog.core.forecast.questions.day_plan import DayPlan, Turn, day_plan, scene_of_plan
from buildlog.core.forecast.simulate.arrays import Learned, reassigned
from buildlog.core.work.stages import STAGES

TRIES = 300
SAME_H = 0.02  # a finish that differs by less is the same
ROUND = 6.0  # half the way round a ring is as far as so many rings up or down

Owners = Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Handing:
    """One segment for one helper, the stages they do at it on that day, and when they begin [h UTC]."""

    segment: str
    helper: int
    stages: tuple[str, ...]
    start: float


@dataclass(frozen=True)
class Handout:
    """The suggestion for one local ``day`` (None: nothing is left to hand out), by helper in the order of their work.

    ``before`` is the day plan with nothing handed out, ``plan`` the one with it.
    """

    before: DayPlan
    plan: DayPlan
    day: int | None
    handings: tuple[Handing, ...]

    @property
    def walk(self) -> tuple[float, float]:
        """How far each goes from piece to piece on that day, in rings: with nothing handed out, and with it."""
        return (0.0, 0.0) if self.day is None else (_walk(self.before, self.day), _walk(self.plan, self.day))


def hand_out(world: World, *, seed: int, before: DayPlan | None = None, learned: Learned | None = None) -> Handout:
    """Suggest who takes which free segments on the first day to come on which somebody works."""
    learned = learned or Learned(world)
    before = before or day_plan(world, learned)
    if not before.days:
        return Handout(before, before, None, ())
    day = before.days[0]
    search = _Search(world, learned, day, np.random.default_rng(seed))
    owners = search.best(_first_owners(before, day))
    plan = search.plan(owners)
    return Handout(before, plan, day, tuple(_handings(plan, day, owners)))


def _first_owners(plan: DayPlan, day: int) -> dict[str, int]:
    """Whoever works longest on a free segment on the day."""
    hours: dict[str, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for turn in plan.on(day):
        if turn.segment and plan.world.pieces[plan.world.place[turn.segment]].assigned is None:
            hours[turn.segment][turn.helper] += turn.end - turn.start
    return {segment: max(own, key=lambda helper: own[helper]) for segment, own in hours.items()}


class _Search:
    """Who owns which segments, changed a little at a time for as long as that is better."""

    def __init__(self, world: World, learned: Learned, day: int, rng: np.random.Generator) -> None:
        self.world, self.learned, self.day, self.rng = world, learned, day, rng
        self.scene = scene_of_plan(world, learned)

    def plan(self, owners: Owners) -> DayPlan:
        pieces = tuple(
            replace(piece, assigned=owners[piece.code]) if piece.code in owners else piece
            for piece in self.world.pieces
        )
        world = replace(self.world, pieces=pieces)
        return day_plan(world, self.learned, reassigned(self.scene, world))

    def best(self, owners: dict[str, int]) -> dict[str, int]:
        helpers = sorted(set(owners.values()))
        finish, walk = self.cost(owners)
        for _ in range(TRIES if owners else 0):
            changed = self.changed(owners, helpers)
            if changed == owners:
                continue
            other_finish, other_walk = self.cost(changed)
            sooner, same = other_finish < finish - SAME_H, other_finish <= finish
            if sooner or (same and other_walk < walk):
                owners, finish, walk = changed, other_finish, other_walk
        return owners

    def cost(self, owners: Owners) -> tuple[float, float]:
        """When it ends [h after as-of; what is missing behind the last shift], and how far everybody goes that day."""
        plan = self.plan(owners)
        end = plan.finish or (last_known(self.world) or self.world.as_of) + plan.missing
        return end - self.world.as_of, _walk(plan, self.day)

    def changed(self, owners: dict[str, int], helpers: list[int]) -> dict[str, int]:
        """Two segments swapped, one given to somebody else, or one left free."""
        if not owners:
            return owners
        one, other = (sorted(owners)[int(self.rng.integers(len(owners)))] for _ in range(2))
        way = self.rng.random()
        if way < 0.5:
            return owners | {one: owners[other], other: owners[one]} if self._can(one, owners[other]) else owners
        if way < 0.9:
            to = helpers[int(self.rng.integers(len(helpers)))]
            return owners | {one: to} if self._can(one, to) else owners
        return {segment: who for segment, who in owners.items() if segment != one}

    def _can(self, segment: str, helper: int) -> bool:
        """Has the helper the skill for something that is left at it?"""
        piece = self.world.pieces[self.world.place[segment]]
        skills = self.world.helpers[helper].skills
        return any(piece.left(number) > 0 and stage.value in skills for number, stage in enumerate(STAGES))


def _handings(plan: DayPlan, day: int, owners: Owners) -> Iterator[Handing]:
    """What an owner really comes to on the day; the rest of it is left for later."""
    turns: dict[tuple[int, str], list[Turn]] = defaultdict(list)
    for turn in plan.on(day):
        if owners.get(turn.segment) == turn.helper:
            turns[turn.helper, turn.segment].append(turn)
    for (helper, segment), own in sorted(turns.items(), key=lambda item: (item[0][0], item[1][0].start)):
        yield Handing(segment, helper, tuple(dict.fromkeys(turn.work for turn in own)), own[0].start)


def _walk(plan: DayPlan, day: int) -> float:
    """How far all helpers go from segment to segment on a day, in rings."""
    where = _places(plan.world)
    stops: dict[int, list[str]] = defaultdict(list)
    for turn in plan.on(day):
        if turn.segment and turn.segment != (stops[turn.helper] or [""])[-1]:
            stops[turn.helper].append(turn.segment)
    return sum(_far(where[one], where[other]) for own in stops.values() for one, other in pairwise(own))


def _places(world: World) -> dict[str, tuple[int, float]]:
    """Ring and share of the way round it of each segment: the pieces of a ring follow one another."""
    rings: dict[int, list[str]] = defaultdict(list)
    for piece in world.pieces:
        rings[piece.ring].append(piece.code)
    return {code: (ring, place / len(codes)) for ring, codes in rings.items() for place, code in enumerate(codes)}


def _far(one: tuple[int, float], other: tuple[int, float]) -> float:
    round_it = abs(one[1] - other[1])
    return abs(one[0] - other[0]) + 2 * ROUND * min(round_it, 1 - round_it)
