"""Compile everything once, before anybody waits for it."""

from __future__ import annotations

from buildlog.core.forecast.input import ForecastInput, Helper, JobInput, RunInput, SegmentInput, ShiftInput
from buildlog.core.forecast.result.forecast import forecast


def warm() -> None:
    """Play a tiny build: whatever is not yet compiled and cached on disk is compiled now."""
    segment = SegmentInput("R1-1", 10, runs=(RunInput(1, 1, 10),))
    helper = Helper("Nobody", shifts=(ShiftInput(0.0, 8.0, 719163),))
    forecast(ForecastInput(0.0, (segment,), (helper,), jobs=(JobInput("Box", 0.1, 0.2, 0.3),)), trials=2, seed=0)
