"""What would it take, as it is kept and read: the sentence, and when the extra hands would come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any

from buildlog.core.forecast.calendar import iso

if TYPE_CHECKING:  # it brings numba, which pages do without
    from buildlog.core.forecast.takes import Takes


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
    def steps(self) -> tuple[tuple[int, float, int], ...]:
        """(more helpers, their person-hours, percent sure): nobody more, then one after the other."""
        return tuple((one["helpers"], one["hours"], round(100 * one["probability"])) for one in self.said["steps"])

    @cached_property
    def extras(self) -> tuple[Extra, ...]:
        """When hands would come, in order; hands that come at the same time together."""
        moments = [(datetime.fromisoformat(one["start"]), datetime.fromisoformat(one["end"])) for one in self._shifts]
        counted = Counter(moments)
        return tuple(Extra(start, end, hands) for (start, end), hands in sorted(counted.items()))

    @property
    def _shifts(self) -> list[Mapping[str, str]]:
        return [shift for own in self.said["shifts"] for shift in own]


def kept(takes: Takes) -> dict[str, Any]:
    """What it takes as JSON; ``shifts`` by extra helper, ISO 8601 in the build's own zone, ``hours`` person-hours."""
    world = takes.seen.world
    zone = world.time_zone
    return {
        "build": world.build,
        "as_of": iso(world.as_of, zone),
        "trials": takes.seen.trials,
        "seed": takes.seen.seed,
        "target": iso(world.target, zone) if world.target is not None else None,
        "chance": takes.chance,
        "probability": takes.probability,
        "enough": takes.enough,
        "hours": round(takes.hours, 2),
        "helpers": takes.helpers,
        "hand_over": takes.hand_over,
        "shifts": [[{"start": iso(s.start, zone), "end": iso(s.end, zone)} for s in own] for own in takes.shifts],
        "steps": [
            {"hours": round(hours, 2), "helpers": helpers, "probability": chance}
            for hours, helpers, chance in takes.steps
        ],
        "sentence": takes.sentence,
    }
