"""What holds a build up however many hands come: room, a job, work that is not open yet, hand load."""

from __future__ import annotations

import math

import numpy as np

from buildlog.core.forecast.calendar import last_known, local_day
from buildlog.core.forecast.input import ForecastInput, ShiftInput
from buildlog.core.forecast.result.forecast import Forecast
from buildlog.core.forecast.result.report import REASONS
from buildlog.core.forecast.simulate.state import AT_LIMIT, JOB, NOTHING_OPEN
from buildlog.core.wording import counted
from buildlog.core.work.stages import STAGES

STANDING_BY = 0.1  # person-hours of waiting by hour of work, from which on waiting is the reason


def holdup(seen: Forecast) -> str:
    """A sentence with what to do; "" where hands are busy all the time, and days are what is short."""
    waits, work = seen.waits.mean(axis=0), float(seen.hours.sum(axis=1).mean())
    if waits.sum() < STANDING_BY * work:
        return ""
    reason, limits = int(np.argmax(waits)), seen.limits
    kind, share = limits[0] if limits else (JOB, 0.0)
    then = otherwise(seen.inputs)
    if reason < NOTHING_OPEN:
        what, fit = REASONS[STAGES[reason].value], seen.inputs.people[reason]
        return f"{what.capitalize()} holds it up: only {fit} fit at once. Let more in if that is safe, or {then}."
    if reason == AT_LIMIT:
        return f"The hours of populating a day are used up: {then}."
    if kind == JOB:
        return (
            f"Jobs hold it up, in {round(100 * share)} of 100 trials: they take as long however many come. "
            f"Begin them sooner, or {then}."
        )
    what = REASONS[(*STAGES, "jobs", "rework")[kind]]
    return (
        f"Hands stand by for work that is not open yet, most often behind {what}: a segment passes its stages one "
        f"after the other: {then}."
    )


def otherwise(inputs: ForecastInput) -> str:
    """What else there is to do: a later target helps where somebody comes after it."""
    last = last_known(inputs)
    return "add days, or move the target" if last and last > (inputs.target or math.inf) else "add days under Crew"


def days_there(spells: tuple[ShiftInput, ...], inputs: ForecastInput) -> str:
    """How long somebody is there before the target: 3 h on 1 day."""
    target = inputs.target or inputs.as_of
    before = [ShiftInput(spell.start, min(spell.end, target), spell.day) for spell in spells if spell.start < target]
    days = {local_day(spell.start, inputs.time_zone) for spell in before}
    return f"{sum(spell.end - spell.start for spell in before):.0f} h on {counted(len(days), 'day')}"
