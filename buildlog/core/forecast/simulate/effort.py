"""Compiled: the effort a helper needs at a stage, and how hard a segment is."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.random_numbers import PIECE, normal
from buildlog.core.forecast.simulate.state import (
    BY_STAGE,
    CURVE,
    DAY_FORM,
    EFFORT,
    GROWTH,
    KEY,
    NUMBER,
    OMEGA,
    PRACTICE,
    ROW,
    SIGMA,
    SIZE,
    SMALL,
    TIRING,
    UNIT,
    WHOLE,
    WORKED,
    Trial,
)


@step
def practised(z: Trial, helper: int, stage: int) -> float:
    """Log of the hours one helper takes for a unit at a stage with the practice they have by now, fresh, on a usual
    day."""
    row = BY_STAGE + ROW * stage
    practice = math.log(1.0 + z.at[helper, PRACTICE + stage] / z.tot[row + UNIT])
    return float(z.at[helper, EFFORT + stage] + z.tot[row + CURVE] * practice)


@step
def effort(z: Trial, helper: int, stage: int) -> float:
    """The same on this day, after so many hours of it."""
    row = BY_STAGE + ROW * stage
    today = z.tot[row + OMEGA] * z.at[helper, DAY_FORM] + z.tot[row + TIRING] * z.at[helper, WORKED]
    return float(practised(z, helper, stage) + today)


@step
def hardness(z: Trial, seg: int, stage: int) -> float:
    """Log of how much harder than usual a segment turns out at a stage: for its size, and by chance."""
    row = BY_STAGE + ROW * stage
    log = z.tot[row + GROWTH] * z.left[seg, SIZE + stage]
    if z.tot[row + SIGMA] > 0.0:
        spread = z.tot[row + SIGMA] * math.sqrt(1.0 + z.tot[row + SMALL] / z.left[seg, WHOLE + stage])
        log += spread * normal(z.num[KEY], PIECE, 4 * z.seg[seg, NUMBER] + stage)
    return float(log)
