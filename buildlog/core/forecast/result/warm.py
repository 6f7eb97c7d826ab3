"""Compile everything once, before anybody waits for it."""

from __future__ import annotations

from buildlog.core.forecast.input import Helper, Job, Piece, Run, Shift, World
from buildlog.core.forecast.result.forecast import outlook


def warm() -> None:
    """Play a tiny build: whatever is not yet compiled and cached on disk is compiled now."""
    piece = Piece("R1-1", 10, runs=(Run(1, 1, 10),))
    helper = Helper("Nobody", shifts=(Shift(0.0, 8.0, 719163),))
    outlook(World(0.0, (piece,), (helper,), jobs=(Job("Box", 0.1, 0.2, 0.3),)), trials=2, seed=0)
