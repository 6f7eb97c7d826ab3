"""All that a stage is: the four stages a segment goes through, in one table that everything else reads."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Stage(StrEnum):
    """A stage, named by its verb; the value is what files and databases hold. There are four, for good."""

    POPULATE = "populate"
    MOUNT = "mount"
    WIRE = "wire"
    TEST = "test"

    @property
    def facts(self) -> StageFacts:
        return TABLE[self]

    @property
    def done(self) -> str:
        """The word for pixels that have passed: populated, mounted, wired, tested."""
        return self.facts.done

    @property
    def number(self) -> int:
        """Its place in ``STAGES``, from 0."""
        return STAGES.index(self)


@dataclass(frozen=True, slots=True)
class StageFacts:
    """One row of the table. ``done``: the word for pixels that have passed; ``doing``: for the work.
    ``unit``: what its work is counted in.

    ``rate`` [units per person-hour] and ``people`` (how many fit at once, None = no limit) hold until the lead sets
    others; ``hours_a_day`` [person-hours] is the caution for hands, None where there is none. ``cautions``: what can
    hurt somebody, in general words; local codes and licensed people decide. ``closing_place``: its place, from 0,
    on a closing segment: nobody can reach in once that is up, so its tails are wired first.
    """

    done: str
    doing: str
    unit: str
    rate: float
    people: int | None
    hours_a_day: float | None
    cautions: tuple[str, ...]
    closing_place: int


INSIDE = (
    "Power off, locked off and checked dead before anybody reaches inside. One person inside at a time, one outside "
    "who knows. Mains is a licensed person's work; local rules decide."
)
LADDER = "Ladder on firm ground and held by somebody. Nobody stands under the work. Do not lean or climb on the ball."
POWER_ON = "Nobody inside while power is on. Say it aloud before switching on. Keep sockets and plugs dry."
BALL = "The ball is heavy and can tip or roll: wedge it before anybody pulls on it."
HANDS = "Push with a tool or a gloved thumb, and change hands: blisters come before pain does."
CLOSING = "This piece closes the way in: nobody inside, tools out, power isolated before it goes on."

# The first rate is common practice (100 pixels in 15 minutes); the other three are guesses of ours, the lead's to set.
TABLE = {
    Stage.POPULATE: StageFacts("populated", "populating", "pixel", 400, None, 3.0, (HANDS,), closing_place=0),
    Stage.MOUNT: StageFacts("mounted", "mounting", "pixel", 350, None, None, (LADDER, BALL), closing_place=2),
    Stage.WIRE: StageFacts("wired", "wiring", "run", 6, 2, None, (INSIDE, LADDER), closing_place=1),
    Stage.TEST: StageFacts("tested", "testing", "run", 15, 2, None, (POWER_ON, LADDER), closing_place=3),
}

STAGES = tuple(Stage)
STAGE_COUNT = len(STAGES)
POPULATE, MOUNT, WIRE, TEST = range(STAGE_COUNT)  # a stage as a row or column of arrays, and in compiled code
COUNTED_IN_PIXELS = tuple(stage.facts.unit == "pixel" for stage in STAGES)
CHOICES = [(stage.value, stage.value) for stage in STAGES]  # as fields of forms and tables want them
_CLOSING_ORDER = tuple(sorted(STAGES, key=lambda stage: stage.facts.closing_place))


def order_of(closing: bool) -> tuple[Stage, ...]:
    """The stages in the order a segment passes them."""
    return _CLOSING_ORDER if closing else STAGES


def stage_before(stage: Stage, closing: bool) -> Stage | None:
    """The stage that pixels must have passed first, or None for the first one."""
    order = order_of(closing)
    place = order.index(stage)
    return order[place - 1] if place else None


def stage_after(stage: Stage, closing: bool) -> Stage | None:
    """The stage that follows, or None for the last one."""
    order = order_of(closing)
    place = order.index(stage) + 1
    return order[place] if place < len(order) else None


def cautions(stage: Stage | None, closing: bool = False) -> tuple[str, ...]:
    """The sentences for work at this stage; none for a job that we know nothing about."""
    says = stage.facts.cautions if stage else ()
    return (CLOSING, *says) if closing and stage is Stage.MOUNT else says


def stage_index(word: str) -> int | None:
    """0…3 for a stage word, None for any other (the name of a job)."""
    return Stage(word).number if word in STAGES else None
