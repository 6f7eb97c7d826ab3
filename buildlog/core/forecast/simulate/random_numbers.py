"""Chance inside the compiled trials: numbers that depend only on what they are for, never on the order of events.

The noise of a segment, a helper's day, a failed test is a hash of (trial, purpose, number). Two what-ifs therefore
meet the same chance, and the result does not depend on how many processors share the work.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from buildlog.core.forecast.simulate.compiled import step

SEGMENT_NOISE, DAY_EFFECT, ATTENDANCE, TEST_FAILURE, REWORK, SHARED_ATTENDANCE = range(1, 7)  # purposes


@step
def mixed(key: int, purpose: int, number: int) -> Any:
    """64 well-mixed bits (the finaliser of splitmix64; Steele, Lea & Flood 2014)."""
    z = np.uint64(key) + np.uint64(0x9E3779B97F4A7C15) * (
        np.uint64(number) * np.uint64(8) + np.uint64(purpose) + np.uint64(1)
    )
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


@step
def uniform(key: int, purpose: int, number: int) -> float:
    """Uniform in (0, 1)."""
    return (np.float64(mixed(key, purpose, number) >> np.uint64(11)) + 0.5) / 9007199254740992.0


@step
def normal(key: int, purpose: int, number: int) -> float:
    """Standard normal, by Box and Muller's formula on the two halves of one hash."""
    bits = mixed(key, purpose, number)
    u = (np.float64(bits >> np.uint64(32)) + 0.5) / 4294967296.0
    v = np.float64(bits & np.uint64(0xFFFFFFFF)) / 4294967296.0
    return math.sqrt(-2.0 * math.log(u)) * math.cos(2.0 * math.pi * v)
