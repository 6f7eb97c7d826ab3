"""What would it take, as it is kept and read: the sentence, and when the extra hands would come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any

from buildlog.core.forecast.calendar import iso
from buildlog.core.wording import counted, percent_below

if TYPE_CHECKING:  # it brings numba, which pages do without
    from buildlog.core.forecast.questions.reach_target import TargetReached


@dataclass(frozen=True, slots=True)
class Extra:
    """So many more hands from…until (aware, the build's own zone)."""

    start: datetime
    end: datetime
    hands: int

    @property
    def hours(self) -> float:
        """Person-hours, taken by way of timestamps so that a clock change is counted."""
        return self.hands * (self.end.timestamp() - self.start.timestamp()) / 3600


@dataclass(frozen=True, slots=True)
class Step:
    """What so many more helpers would bring, all the time when the crew is there: person-hours, percent sure."""

    helpers: int
    hours: float
    percent: int
    hand_over: bool

    @property
    def who(self) -> str:
        if self.helpers:
            return counted(self.helpers, "more helper")
        return "nobody more, begun segments handed over" if self.hand_over else "nobody more"


@dataclass(frozen=True)
class Needed:
    """A kept answer."""

    said: Mapping[str, Any]

    @property
    def sentence(self) -> str:
        return str(self.said["sentence"])

    @property
    def percent(self) -> int:
        """How sure it was to be."""
        return round(100 * float(self.said["chance"]))

    @property
    def target(self) -> datetime | None:
        return datetime.fromisoformat(self.said["target"]) if self.said["target"] else None

    @property
    def trials(self) -> int:
        return int(self.said["trials"])

    @property
    def margin(self) -> int:
        """By how many points the chance of so few trials may be off."""
        return round(100 * float(self.said.get("margin", 0)))

    @property
    def steps(self) -> tuple[Step, ...]:
        """Nobody more, then one more helper after the other."""
        return tuple(
            Step(one["helpers"], one["hours"], percent_below(one["probability"]), one.get("hand_over", False))
            for one in self.said["steps"]
        )

    @cached_property
    def extras(self) -> tuple[Extra, ...]:
        """When hands would come, in order; hands that come at the same time together."""
        moments = [(datetime.fromisoformat(one["start"]), datetime.fromisoformat(one["end"])) for one in self._shifts]
        counted = Counter(moments)
        return tuple(Extra(start, end, hands) for (start, end), hands in sorted(counted.items()))

    @property
    def _shifts(self) -> list[Mapping[str, str]]:
        return [shift for own in self.said["shifts"] for shift in own]


def kept(takes: TargetReached) -> dict[str, Any]:
    """What it takes as JSON; ``shifts`` by extra helper, ISO 8601 in the build's own zone, ``hours`` person-hours."""
    inputs = takes.seen.inputs
    zone = inputs.time_zone
    return {
        "build": inputs.build,
        "as_of": iso(inputs.as_of, zone),
        "trials": takes.seen.trials,
        "seed": takes.seen.seed,
        "target": iso(inputs.target, zone) if inputs.target is not None else None,
        "chance": takes.chance,
        "probability": takes.probability,
        "enough": takes.enough,
        "hours": round(takes.hours, 2),
        "helpers": takes.helpers,
        "hand_over": takes.hand_over,
        "shifts": [[{"start": iso(s.start, zone), "end": iso(s.end, zone)} for s in own] for own in takes.shifts],
        "steps": [
            {
                "hours": round(step.hours, 2),
                "helpers": step.helpers,
                "probability": step.probability,
                "hand_over": step.hand_over,
            }
            for step in takes.steps
        ],
        "margin": round(takes.margin, 4),
        "sentence": takes.sentence,
    }
