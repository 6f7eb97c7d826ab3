"""How many people fit at a stage at once, and who is in the way of one more.

The limit is about room (inside the ball two people fit), so it is about who is there at one moment. Work that was
begun where no network was cannot be sent back: it is kept, and the lead is told that it was too many.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from buildlog.core.work.stages import Stage

AT_ONCE = timedelta(seconds=30)  # a start that took longer to arrive was made without a network


@dataclass(frozen=True, slots=True)
class Inside:
    """Somebody at work at a stage; one who rests comes back, and keeps the place."""

    name: str
    resting: bool = False

    def __str__(self) -> str:
        return f"{self.name} (resting)" if self.resting else self.name


def why_no_room(stage: Stage, inside: Sequence[Inside], coming: int, limits: Mapping[str, int]) -> str | None:
    """The sentence that names who is there when ``coming`` more people do not fit at ``stage``; None when they do.

    >>> why_no_room(Stage.WIRE, [Inside("Noor")], 1, {"wire": 1})
    'Noor is there to wire, and 1 person fits: wait until somebody stops, or ask the lead, who sets how many fit.'
    """
    most = limits.get(stage)
    if most is None or len(inside) + coming <= most:
        return None
    many = "1 person fits" if most == 1 else f"{most} people fit"
    if not inside:
        return f"{coming} people are too many to {stage}: {many}. Start with fewer; the lead sets how many fit."
    there = f"{listed(inside)} {'is' if len(inside) == 1 else 'are'} there to {stage}, and {many}"
    together = f"; you would be {coming} more" if coming > 1 else ""
    return f"{there}{together}: wait until somebody stops, or ask the lead, who sets how many fit."


def too_many(stage: Stage, came: Sequence[str], inside: Sequence[Inside], limits: Mapping[str, int]) -> str | None:
    """What the lead is told when people had begun already although they did not fit; None when they did fit."""
    if why_no_room(stage, inside, len(came), limits) is None:
        return None
    together = f" beside {listed(inside)}" if inside else ""
    return (
        f"{listed(came)} began to {stage}{together}, without a network: "
        f"{len(inside) + len(came)} people at once where {limits[stage]} fit."
    )


def listed(names: Sequence[object]) -> str:
    """Names as one says them.

    >>> listed(["Ada", "Bo", "Cy"])
    'Ada, Bo and Cy'
    """
    *first, last = map(str, names)
    return f"{', '.join(first)} and {last}" if first else last
