"""Compiled: how fast a helper goes at a stage, and how hard a segment is."""

from __future__ import annotations

import math

from buildlog.core.forecast.chance import PIECE, normal
from buildlog.core.forecast.compiled import step
from buildlog.core.forecast.tables import (
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
def speed(z: Trial, helper: int, stage: int) -> float:
    """Units per hour of one helper at a stage, with the practice they have by now, on this day."""
    row = BY_STAGE + ROW * stage
    practice = math.log1p(z.at[helper, PRACTICE + stage] / z.tot[row + UNIT])
    log = z.at[helper, EFFORT + stage] + z.tot[row + CURVE] * practice + z.tot[row + OMEGA] * z.at[helper, DAY_FORM]
    log += z.tot[row + TIRING] * z.at[helper, WORKED]
    return math.exp(-log)


@step
def hardness(z: Trial, seg: int, stage: int) -> float:
    """How much harder than usual a segment turns out at a stage: for its size, and by chance."""
    row = BY_STAGE + ROW * stage
    log = z.tot[row + GROWTH] * z.left[seg, SIZE + stage]
    if z.tot[row + SIGMA] > 0.0:
        spread = z.tot[row + SIGMA] * math.sqrt(1.0 + z.tot[row + SMALL] / z.left[seg, WHOLE + stage])
        log += spread * normal(z.num[KEY], PIECE, 4 * z.seg[seg, NUMBER] + stage)
    return math.exp(log)
