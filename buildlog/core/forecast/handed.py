"""Segments handed to somebody whose shifts end before the work does: others take them, and the lead is told."""

from __future__ import annotations

from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.work.stages import STAGES


def outlasting(inputs: ForecastInput) -> dict[int, tuple[float, float]]:
    """Helper → (hours of work handed to them at standard rates, hours of their shifts to come) where it is too much."""
    work: dict[int, float] = {}
    for segment in inputs.segments:
        if segment.assigned is not None:
            skills = inputs.helpers[segment.assigned].skills
            hours = sum(
                segment.left(n) / inputs.standard.rate(n) for n, stage in enumerate(STAGES) if stage.value in skills
            )
            work[segment.assigned] = work.get(segment.assigned, 0.0) + hours
    there = {who: sum(s.end - s.start for s in coming(inputs.helpers[who], inputs.as_of)) for who in work}
    return {who: (hours, there[who]) for who, hours in work.items() if hours > there[who]}
