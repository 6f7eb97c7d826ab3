"""The four stages a segment goes through, their words, and the order in which they follow one another."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """A stage, named by its verb; the value is what files and databases hold."""

    POPULATE = "populate"
    MOUNT = "mount"
    WIRE = "wire"
    TEST = "test"

    @property
    def done(self) -> str:
        """The word for pixels that have passed: populated, mounted, wired, tested."""
        return _DONE[self]


_DONE = {
    Stage.POPULATE: "populated",
    Stage.MOUNT: "mounted",
    Stage.WIRE: "wired",
    Stage.TEST: "tested",
}

STAGES = tuple(Stage)

_ORDER = (Stage.POPULATE, Stage.MOUNT, Stage.WIRE, Stage.TEST)
# Nobody can reach in once a closing segment is up, so its tails are wired first.
_CLOSING_ORDER = (Stage.POPULATE, Stage.WIRE, Stage.MOUNT, Stage.TEST)


def order_of(closing: bool) -> tuple[Stage, ...]:
    """The stages in the order a segment passes them."""
    return _CLOSING_ORDER if closing else _ORDER


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
