"""How many people fit at a stage at once, and who is in the way of one more.

The limit is about room (inside the ball two people fit), so it is about who is there at one moment. Work that was
begun where no network was cannot be sent back: it is kept, and the lead is told that it was too many.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from buildlog.core.wording import Count, Sentence, _, all_of
from buildlog.core.work.stages import Stage

AT_ONCE = timedelta(seconds=30)  # a start that took longer to arrive was made without a network


@dataclass(frozen=True, slots=True)
class Inside:
    """Somebody at work at a stage; one who rests comes back, and keeps the place."""

    name: str
    resting: bool = False

    def __str__(self) -> str:
        return f"{self.name} (resting)" if self.resting else self.name


def why_no_room(stage: Stage, inside: Sequence[Inside], coming: int, limits: Mapping[str, int]) -> Sentence | None:
    """The sentence that names who is there when ``coming`` more people do not fit at ``stage``; None when they do.

    >>> str(why_no_room(Stage.WIRE, [Inside("Noor")], 1, {"wire": 1}))
    'Noor is there to wire, and 1 person fits: wait until somebody stops, or ask the lead, who sets how many fit.'
    """
    most = limits.get(stage)
    if most is None or len(inside) + coming <= most:
        return None
    fits = Count(most, _("{number} person fits"), _("{number} people fit"))
    if not inside:
        template = _("{coming} people are too many to {stage}: {fits}. Start with fewer; the lead sets how many fit.")
        return Sentence(template, coming=coming, stage=stage.value, fits=fits)
    return Sentence(
        _("{there}, and {fits}{together}: wait until somebody stops, or ask the lead, who sets how many fit."),
        there=_who_is_there(stage, inside),
        fits=fits,
        together=Sentence(_("; you would be {coming} more"), coming=coming) if coming > 1 else "",
    )


def _who_is_there(stage: Stage, inside: Sequence[Inside]) -> Sentence:
    template = _("{names} is there to {stage}") if len(inside) == 1 else _("{names} are there to {stage}")
    return Sentence(template, names=all_of([str(person) for person in inside]), stage=stage.value)


def too_many(stage: Stage, came: Sequence[str], inside: Sequence[Inside], limits: Mapping[str, int]) -> Sentence | None:
    """What the lead is told when people had begun already although they did not fit; None when they did fit."""
    if why_no_room(stage, inside, len(came), limits) is None:
        return None
    template = _(
        "{came} began to {stage} beside {inside}, without a network: {together} people at once where {most} fit."
    )
    if not inside:
        template = _("{came} began to {stage}, without a network: {together} people at once where {most} fit.")
    return Sentence(
        template,
        came=all_of(came),
        stage=stage.value,
        inside=all_of([str(person) for person in inside]),
        together=len(inside) + len(came),
        most=limits[stage],
    )
