"""The document of what it takes to reach a target: the answer, and when the extra hands would come."""

from __future__ import annotations

from collections import Counter

from msgspec import Struct

from buildlog.core.forecast.result.document.coding import Fact, Moment
from buildlog.core.wording import percent_below


class Spell(Struct, frozen=True):
    """From…until."""

    start: Moment
    end: Moment


class HelpersStep(Struct, frozen=True):
    """What so many more helpers would bring, all the time when the crew is there: person-hours, the chance.

    ``hand_over``: with begun segments handed over.
    """

    hours: float
    helpers: int
    probability: float
    hand_over: bool = False

    @property
    def percent(self) -> int:
        return percent_below(self.probability)


class Extra(Struct, frozen=True):
    """So many more hands from…until."""

    start: Moment
    end: Moment
    hands: int

    @property
    def hours(self) -> float:
        """Person-hours, taken by way of timestamps so that a clock change is counted."""
        return self.hands * (self.end.timestamp() - self.start.timestamp()) / 3600


class TargetDocument(Struct, frozen=True, kw_only=True):
    """The answer. ``chance`` is the one asked for, ``probability`` the one reached; ``shifts`` by extra helper."""

    build: str
    as_of: Moment
    trials: int
    seed: int
    target: Moment | None
    chance: float
    probability: float
    enough: bool
    hours: float
    helpers: int
    hand_over: bool = False
    shifts: tuple[tuple[Spell, ...], ...]
    steps: tuple[HelpersStep, ...]
    margin: float = 0.0
    sentence: Fact

    @property
    def percent(self) -> int:
        """How sure it was to be."""
        return round(100 * self.chance)

    @property
    def margin_points(self) -> int:
        """By how many points the chance of so few trials may be off."""
        return round(100 * self.margin)

    @property
    def extras(self) -> tuple[Extra, ...]:
        """When hands would come, in order; hands that come at the same time together."""
        times = Counter((spell.start, spell.end) for own in self.shifts for spell in own)
        return tuple(Extra(start, end, hands) for (start, end), hands in sorted(times.items()))
