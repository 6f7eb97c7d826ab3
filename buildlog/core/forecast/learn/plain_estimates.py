"""Plain estimates of the person-hours left, to stand beside the forecast and be compared with it."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.learn.observations import Observations
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True, slots=True)
class Plain:
    """``by_stage`` = units left ÷ the rate measured at each stage; ``overall`` = hours so far × work left ÷ done."""

    by_stage: float
    overall: float | None


def plain_estimates(inputs: ForecastInput, logged: Observations) -> Plain:
    """What one would reckon on paper from the same log; the overall one is None while nothing is done."""
    left, by_stage, hours, earned, to_earn = 0.0, 0.0, 0.0, 0.0, 0.0
    for number, stage in enumerate(STAGES):
        whole = sum(segment.units(number) for segment in inputs.segments)
        left = inputs.units_left(number)
        spent = sum(stint.person_hours for stint in inputs.stints if stint.work == stage.value and stint.pixels)
        done = float(logged.practice[:, number].sum())
        rate = done / spent if done > 0 and spent > 0 else inputs.standard.rate(number)
        by_stage += left / rate
        hours += sum(stint.person_hours for stint in inputs.stints if stint.work == stage.value)
        earned += (whole - left) / inputs.standard.rate(number)
        to_earn += left / inputs.standard.rate(number)
    return Plain(by_stage, hours * to_earn / earned if earned > 0 else None)
