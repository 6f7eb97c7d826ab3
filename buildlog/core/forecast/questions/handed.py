"""The suggestion for the coming shift as it is kept and read: which free segments to hand to whom."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any

from buildlog.core.forecast.calendar import day_text, iso
from buildlog.core.wording import counted, listed

if TYPE_CHECKING:  # it brings numba, which pages do without
    from buildlog.core.forecast.questions.assignments import Assignments


@dataclass(frozen=True, slots=True)
class SegmentNow:
    """A segment as it stands: whose it is, pixels that have passed each stage, who is at it ("" for nobody)."""

    owner: str
    done: tuple[int, ...]
    at_work: str = ""


@dataclass(frozen=True, slots=True)
class Given:
    """One segment for one helper. ``done``: pixels of it that had passed each stage when this was suggested."""

    segment: str
    helper: str
    work: str
    start: datetime
    done: tuple[int, ...]

    def why_not(self, now: SegmentNow | None, crew: Collection[str]) -> str:
        """Why it cannot be handed out as suggested any more; "" when it can."""
        if now is None:
            return f"{self.segment} is not in the plan any more."
        if self.helper not in crew:
            return f"{self.segment}: {self.helper} does not work here any more."
        if now.owner:
            return f"{self.segment} is {now.owner}’s already."
        if now.done != self.done:
            return f"{self.segment} was ticked meanwhile."
        return f"{now.at_work} is at {self.segment} right now." if now.at_work not in ("", self.helper) else ""


@dataclass(frozen=True)
class Suggestion:
    """A kept suggestion, by helper in the order of their work."""

    said: Mapping[str, Any]

    @property
    def day(self) -> date | None:
        return date.fromisoformat(self.said["day"]) if self.said["day"] else None

    @property
    def sentence(self) -> str:
        return str(self.said["sentence"])

    @cached_property
    def given(self) -> tuple[Given, ...]:
        return tuple(
            Given(one["segment"], one["helper"], one["work"], datetime.fromisoformat(one["start"]), tuple(one["done"]))
            for one in self.said["given"]
        )

    @property
    def helpers(self) -> tuple[tuple[str, tuple[Given, ...]], ...]:
        """(helper, what they are to get)."""
        names = dict.fromkeys(one.helper for one in self.given)
        return tuple((name, tuple(one for one in self.given if one.helper == name)) for name in names)

    def of(self, helper: str | None) -> tuple[Given, ...]:
        """What one helper is to get; everything for None."""
        return tuple(one for one in self.given if helper in (None, one.helper))


def kept(handout: Assignments) -> dict[str, Any]:
    """A suggestion as JSON; moments are ISO 8601 in the build's own zone."""
    inputs = handout.plan.inputs
    return {
        "day": date.fromordinal(handout.day).isoformat() if handout.day is not None else None,
        "given": [
            {
                "segment": one.segment,
                "helper": inputs.helpers[one.helper].name,
                "work": listed(one.stages),
                "start": iso(one.start, inputs.time_zone),
                "done": [*inputs.segments[inputs.place[one.segment]].done],
            }
            for one in handout.handings
        ],
        "walk": [round(far, 2) for far in handout.walk],
        "sentence": " ".join(_says(handout)),
    }


def _says(handout: Assignments) -> Iterator[str]:
    zone, before, after = handout.plan.inputs.time_zone, handout.before.finish, handout.plan.finish
    if handout.day is None:
        yield f"There is nothing to hand out. {handout.before.sentence}"
        return
    day = date.fromordinal(handout.day)
    named = f"{day:%a} {day.day} {day:%B}"
    if not handout.handings:
        yield f"Nothing is left to hand out for {named}: what is worked on then is somebody's already."
        return
    helpers = len({one.helper for one in handout.handings})
    yield f"{counted(len(handout.handings), 'segment')} for {counted(helpers, 'helper')} on {named}."
    if after is not None and before is not None:
        without = "" if day_text(after, zone) == day_text(before, zone) else f", without on {day_text(before, zone)}"
        yield f"With it the day plan ends on {day_text(after, zone)}{without}."
    else:
        yield handout.plan.sentence
