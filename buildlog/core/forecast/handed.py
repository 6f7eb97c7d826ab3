"""Segments handed to somebody whose shifts end before the work does: others take them, and the lead is told."""

from __future__ import annotations

from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.input import World
from buildlog.core.work.stages import STAGES


def outlasting(world: World) -> dict[int, tuple[float, float]]:
    """Helper → (hours of work handed to them at standard rates, hours of their shifts to come) where it is too much."""
    work: dict[int, float] = {}
    for piece in world.pieces:
        if piece.assigned is not None:
            skills = world.helpers[piece.assigned].skills
            hours = sum(
                piece.left(n) / world.standard.rate(n) for n, stage in enumerate(STAGES) if stage.value in skills
            )
            work[piece.assigned] = work.get(piece.assigned, 0.0) + hours
    there = {who: sum(s.end - s.start for s in coming(world.helpers[who], world.as_of)) for who in work}
    return {who: (hours, there[who]) for who, hours in work.items() if hours > there[who]}
