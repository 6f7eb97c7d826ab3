"""A what-if as people say it: two more helpers on Saturdays, somebody who leaves, one more inside.

It speaks of weekdays and clock times, so that it means the same a week later; ``change`` makes it the scenario of an
input at one moment.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.input import ForecastInput, Helper, hours_of
from buildlog.core.forecast.questions.scenario import Scenario, skills_of_all
from buildlog.core.forecast.questions.times import Times
from buildlog.core.wording import Sentence, _, any_of, counted, listed
from buildlog.core.work.stages import STAGES

MOST_HANDS = 20
LONGEST_NAME = 60
MORE, SHIFTS, PEOPLE, RINGS = "more", "shifts", "people", "rings"


@dataclass(frozen=True, slots=True)
class MoreHands:
    """So many helpers who are not in the crew, all at the same times; no ``skills`` means everything."""

    count: int
    times: Times
    skills: tuple[str, ...] = ()

    def __str__(self) -> str:
        what = f" ({listed(self.skills)})" if self.skills else ""
        return f"{counted(self.count, 'more helper')}{what}, {self.times}"


@dataclass(frozen=True, slots=True)
class MoreShifts:
    """Somebody of the crew comes at more times."""

    name: str
    times: Times

    def __str__(self) -> str:
        return f"{self.name} also comes {self.times}"


@dataclass(frozen=True)
class WhatIfRequest:
    """Any of these at once; what is left out stays as it is.

    ``people``: (stage word, how many fit; None = no limit). ``rings``: to be worked on first, in this order.
    Raises Refused when nothing is changed, or two parts contradict each other.
    """

    name: str
    more: tuple[MoreHands, ...] = ()
    without: tuple[str, ...] = ()
    shifts: tuple[MoreShifts, ...] = ()
    people: tuple[tuple[str, int | None], ...] = ()
    rings: tuple[int, ...] = ()
    rework: bool = True
    hand_over: bool = False
    target: datetime | None = None

    def __post_init__(self) -> None:
        if problems := tuple(_problems(self)):
            raise Refused(problems)

    @property
    def parts(self) -> tuple[str, ...]:
        """What is changed, each as a phrase of its own."""
        return (
            *map(str, self.more),
            *((f"without {listed(self.without)}",) if self.without else ()),
            *map(str, self.shifts),
            *(_fits(stage, limit) for stage, limit in self.people),
            *((f"rings {_ranges(self.rings)} first",) if self.rings else ()),
            *(() if self.rework else ("no test fails",)),
            *(("begun segments are handed over to whoever is there",) if self.hand_over else ()),
            *((f"target {self.target:%a} {self.target.day} {self.target:%b %Y, %H:%M}",) if self.target else ()),
        )

    def change(self, inputs: ForecastInput) -> Scenario:
        """This what-if for the input of one moment. Raises Refused for rings that are not there."""
        zone = ZoneInfo(inputs.time_zone)
        return Scenario(
            name=self.name,
            more=tuple(self._new(inputs, zone)),
            without=frozenset(self.without),
            shifts=tuple((own.name, shift) for own in self.shifts for shift in own.times.shifts(inputs.as_of, zone)),
            people=self.people,
            order=self._order(inputs),
            rework=None if self.rework else False,
            hand_over=self.hand_over,
            target=hours_of(self.target) if self.target else None,
        )

    def _new(self, inputs: ForecastInput, zone: ZoneInfo) -> Iterator[Helper]:
        taken = {helper.name for helper in inputs.helpers}
        names = (name for number in range(1, 1000) if (name := f"New {number}") not in taken)
        for hands in self.more:
            skills, shifts = frozenset(hands.skills) or skills_of_all(inputs), hands.times.shifts(inputs.as_of, zone)
            yield from (Helper(next(names), skills, shifts=shifts) for _ in range(hands.count))

    def _order(self, inputs: ForecastInput) -> tuple[str, ...]:
        there = {segment.ring for segment in inputs.segments}
        if missing := [ring for ring in self.rings if ring not in there]:
            known = Sentence(_("the plan has no rings yet"))
            if there:
                known = Sentence(_("rings go from {first} to {last}"), first=min(there), last=max(there))
            raise Refused(
                Problem(_("There is no ring {rings}: {known}."), RINGS, rings=_ranges(tuple(missing)), known=known)
            )
        return tuple(segment.code for ring in self.rings for segment in inputs.segments if segment.ring == ring)

    def as_json(self) -> dict[str, Any]:
        """As it is stored; ``of_json`` reads it back."""
        return {
            "name": self.name,
            "more": [{"count": hands.count, "skills": [*hands.skills]} | hands.times.as_json() for hands in self.more],
            "without": [*self.without],
            "shifts": [{"name": own.name} | own.times.as_json() for own in self.shifts],
            "people": dict(self.people),
            "rings": [*self.rings],
            "rework": self.rework,
            "hand_over": self.hand_over,
            "target": self.target.isoformat(timespec="minutes") if self.target else None,
        }

    @classmethod
    def of_json(cls, stored: Mapping[str, Any]) -> WhatIfRequest:
        return cls(
            name=stored["name"],
            more=tuple(
                MoreHands(hands["count"], Times.of_json(hands), tuple(hands["skills"])) for hands in stored["more"]
            ),
            without=tuple(stored["without"]),
            shifts=tuple(MoreShifts(own["name"], Times.of_json(own)) for own in stored["shifts"]),
            people=tuple((stage.value, stored["people"][stage.value]) for stage in STAGES if stage in stored["people"]),
            rings=tuple(stored["rings"]),
            rework=stored["rework"],
            hand_over=stored["hand_over"],
            target=datetime.fromisoformat(stored["target"]) if stored["target"] else None,
        )


def _problems(request: WhatIfRequest) -> Iterator[Problem]:
    if not request.name.strip() or len(request.name) > LONGEST_NAME:
        what = _("A what-if needs a name of 1 to {longest} letters, like “two more at weekends”.")
        yield Problem(what, "name", longest=LONGEST_NAME)
    if not request.parts:
        yield Problem(_("Nothing is changed: give more hands, other limits, or whatever is to be different."))
    for hands in request.more:
        if not 1 <= hands.count <= MOST_HANDS:
            yield Problem(_("Found {count} more helpers: give 1 to {most}."), MORE, count=hands.count, most=MOST_HANDS)
    both = sorted(set(request.without) & {own.name for own in request.shifts})
    for name in both:
        yield Problem(_("{name} cannot leave and come more often: choose one of the two."), SHIFTS, name=name)
    for stage, limit in request.people:
        if stage not in {each.value for each in STAGES} or (limit is not None and limit < 0):
            what = _("Found {limit} people at {stage}: name {allowed}, and 0 or more, or no limit.")
            allowed = any_of([each.value for each in STAGES])
            yield Problem(what, PEOPLE, limit=limit, stage=stage, allowed=allowed)


def _fits(stage: str, limit: int | None) -> str:
    if limit is None:
        return f"{stage}: no limit of people"
    return f"{stage}: {counted(limit, 'person')} at once" if limit == 1 else f"{stage}: {limit} people at once"


def _ranges(rings: tuple[int, ...]) -> str:
    """Rings that follow one another as a range.

    >>> _ranges((3, 4, 5, 9))
    '3–5, 9'
    """
    spans: list[list[int]] = []
    for ring in rings:
        if spans and ring == spans[-1][1] + 1:
            spans[-1][1] = ring
        else:
            spans.append([ring, ring])
    return ", ".join(f"{first}" if first == last else f"{first}–{last}" for first, last in spans)
