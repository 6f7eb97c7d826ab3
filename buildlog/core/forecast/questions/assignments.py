"""Which segments to assign to whom for the coming shift, as a suggestion.

It begins with who works on what on the first day of the day plan, and is improved by a search: segments are swapped,
given to somebody else or left free, and the day plan is made again each time. What shortens the finish is kept, and
what brings the segments of one helper closer together without making it later. The day plan itself sees to skills, hand
load, room and the order in which the way in is closed. Pieces that are somebody's already stay theirs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np

from buildlog.core.forecast.calendar import day_of, last_known
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.questions.day_plan import DayPlan, PlannedTurn, arrays_of_plan, day_plan
from buildlog.core.forecast.result.document.assignments import Assignment, AssignmentsDocument
from buildlog.core.forecast.result.document.coding import Fact, Values, moment
from buildlog.core.forecast.simulate.arrays import Learned, reassigned
from buildlog.core.wording import listed
from buildlog.core.work.stages import STAGES

TRIES = 300
SAME_H = 0.02  # a finish that differs by less is the same
ROUND = 6.0  # half the way round a ring is as far as so many rings up or down

Owners = Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Handover:
    """One segment for one helper, the stages they do at it on that day, and when they begin [h UTC]."""

    segment: str
    helper: int
    stages: tuple[str, ...]
    start: float


@dataclass(frozen=True)
class Assignments:
    """The suggestion for one local ``day`` (None: nothing is left to hand out), by helper in the order of their work.

    ``before`` is the day plan with nothing handed out, ``plan`` the one with it.
    """

    before: DayPlan
    plan: DayPlan
    day: int | None
    handovers: tuple[Handover, ...]

    @property
    def walk(self) -> tuple[float, float]:
        """How far each goes from segment to segment on that day, in rings: with nothing handed out, and with it."""
        return (0.0, 0.0) if self.day is None else (_walk(self.before, self.day), _walk(self.plan, self.day))

    @property
    def outcome(self) -> Fact:
        """How many segments for how many, and when it ends with it."""
        if self.day is None:
            return Fact("nothing_to_assign", parts=(self.before.outcome,))
        day = date.fromordinal(self.day).isoformat()
        if not self.handovers:
            return Fact("all_assigned", {"day": day})
        zone, helpers = self.plan.inputs.time_zone, len({handover.helper for handover in self.handovers})
        ends, ended = (plan.finish and day_of(plan.finish, zone) for plan in (self.plan, self.before))
        facts: Values = {"segments": len(self.handovers), "helpers": helpers, "day": day, "ends": ends, "ended": ended}
        return Fact("assigned", facts, (self.plan.outcome,))

    def document(self) -> AssignmentsDocument:
        """Moments to the minute, in the build's own zone."""
        before, after = (round(rings, 2) for rings in self.walk)
        return AssignmentsDocument(
            day=None if self.day is None else date.fromordinal(self.day),
            assignments=tuple(self._assignment(handover) for handover in self.handovers),
            walk=(before, after),
            sentence=self.outcome,
        )

    def _assignment(self, handover: Handover) -> Assignment:
        inputs = self.plan.inputs
        return Assignment(
            segment=handover.segment,
            helper=inputs.helpers[handover.helper].name,
            work=listed(handover.stages),
            start=moment(handover.start, inputs.time_zone),
            done=inputs.segments[inputs.place[handover.segment]].done,
        )


def assign(
    inputs: ForecastInput, *, seed: int, before: DayPlan | None = None, learned: Learned | None = None
) -> Assignments:
    """Suggest who takes which free segments on the first day to come on which somebody works."""
    learned = learned or Learned(inputs)
    before = before or day_plan(inputs, learned)
    if not before.days:
        return Assignments(before, before, None, ())
    day = before.days[0]
    search = _AssignmentSearch(inputs, learned, day, np.random.default_rng(seed))
    owners = search.best(_first_owners(before, day))
    plan = search.plan(owners)
    return Assignments(before, plan, day, tuple(_handovers(plan, day, owners)))


def _first_owners(plan: DayPlan, day: int) -> dict[str, int]:
    """Whoever works longest on a free segment on the day."""
    hours: dict[str, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for turn in plan.on(day):
        if turn.segment and plan.inputs.segments[plan.inputs.place[turn.segment]].assigned is None:
            hours[turn.segment][turn.helper] += turn.end - turn.start
    return {segment: max(own, key=lambda helper: own[helper]) for segment, own in hours.items()}


class _AssignmentSearch:
    """Who owns which segments, changed a little at a time for as long as that is better."""

    def __init__(self, inputs: ForecastInput, learned: Learned, day: int, rng: np.random.Generator) -> None:
        self.inputs, self.learned, self.day, self.rng = inputs, learned, day, rng
        self.arrays = arrays_of_plan(inputs, learned)

    def plan(self, owners: Owners) -> DayPlan:
        segments = tuple(
            replace(segment, assigned=owners[segment.code]) if segment.code in owners else segment
            for segment in self.inputs.segments
        )
        inputs = replace(self.inputs, segments=segments)
        return day_plan(inputs, self.learned, reassigned(self.arrays, inputs))

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
        end = plan.finish or (last_known(self.inputs) or self.inputs.as_of) + plan.missing
        return end - self.inputs.as_of, _walk(plan, self.day)

    def changed(self, owners: dict[str, int], helpers: list[int]) -> dict[str, int]:
        """Two segments swapped, one given to somebody else, or one left free."""
        if not owners:
            return owners
        segment, other = (sorted(owners)[int(self.rng.integers(len(owners)))] for _ in range(2))
        way = self.rng.random()
        if way < 0.5:
            return (
                owners | {segment: owners[other], other: owners[segment]}
                if self._can(segment, owners[other])
                else owners
            )
        if way < 0.9:
            to = helpers[int(self.rng.integers(len(helpers)))]
            return owners | {segment: to} if self._can(segment, to) else owners
        return {code: who for code, who in owners.items() if code != segment}

    def _can(self, code: str, helper: int) -> bool:
        """Has the helper the skill for something that is left at it?"""
        segment = self.inputs.segments[self.inputs.place[code]]
        skills = self.inputs.helpers[helper].skills
        return any(segment.left(number) > 0 and stage.value in skills for number, stage in enumerate(STAGES))


def _handovers(plan: DayPlan, day: int, owners: Owners) -> Iterator[Handover]:
    """What an owner really comes to on the day; the rest of it is left for later."""
    turns: dict[tuple[int, str], list[PlannedTurn]] = defaultdict(list)
    for turn in plan.on(day):
        if owners.get(turn.segment) == turn.helper:
            turns[turn.helper, turn.segment].append(turn)
    for (helper, segment), own in sorted(turns.items(), key=lambda item: (item[0][0], item[1][0].start)):
        yield Handover(segment, helper, tuple(dict.fromkeys(turn.work for turn in own)), own[0].start)


def _walk(plan: DayPlan, day: int) -> float:
    """How far all helpers go from segment to segment on a day, in rings."""
    where = _places(plan.inputs)
    stops: dict[int, list[str]] = defaultdict(list)
    for turn in plan.on(day):
        if turn.segment and turn.segment != (stops[turn.helper] or [""])[-1]:
            stops[turn.helper].append(turn.segment)
    return sum(_far(where[before], where[after]) for own in stops.values() for before, after in pairwise(own))


def _places(inputs: ForecastInput) -> dict[str, tuple[int, float]]:
    """Ring and share of the way round it of each segment: the segments of a ring follow one another."""
    rings: dict[int, list[str]] = defaultdict(list)
    for segment in inputs.segments:
        rings[segment.ring].append(segment.code)
    return {code: (ring, place / len(codes)) for ring, codes in rings.items() for place, code in enumerate(codes)}


def _far(here: tuple[int, float], other: tuple[int, float]) -> float:
    round_it = abs(here[1] - other[1])
    return abs(here[0] - other[0]) + 2 * ROUND * min(round_it, 1 - round_it)
