"""Compiled: the effort a helper needs at a stage, and how hard a segment is; logs of person-hours per unit."""

from __future__ import annotations

import math

from buildlog.core.forecast.simulate.compiled import step
from buildlog.core.forecast.simulate.random_numbers import SEGMENT_NOISE, normal
from buildlog.core.forecast.simulate.state import Trial
from buildlog.core.work.stages import STAGE_COUNT


@step
def practised(z: Trial, helper: int, stage: int) -> float:
    """Log of the hours one helper takes for a unit at a stage with the practice they have by now, fresh, on a usual
    day."""
    practice = math.log(1.0 + z.helpers[helper].practice[stage] / z.stages[stage].practice_unit)
    return float(z.helpers[helper].effort[stage] + z.stages[stage].curve * practice)


@step
def effort(z: Trial, helper: int, stage: int) -> float:
    """The same on this day, after so many hours of it."""
    person = z.helpers[helper]
    today = z.stages[stage].omega * person.day_effect + z.stages[stage].fatigue * person.worked
    return float(practised(z, helper, stage) + today)


@step
def hardness(z: Trial, seg: int, stage: int) -> float:
    """Log of how much harder than usual a segment turns out at a stage: for its size, and by chance."""
    segment, rates = z.segments[seg], z.stages[stage]
    log = rates.growth * segment.log_size[stage]
    if rates.sigma > 0.0:
        spread = rates.sigma * math.sqrt(1.0 + rates.small_units / segment.initial[stage])
        log += spread * normal(z.common[0].key, SEGMENT_NOISE, STAGE_COUNT * segment.number + stage)
    return float(log)
