"""What holds a build up however many hands come: room, a job, work that is not open yet, hand load."""

from __future__ import annotations

import math

import numpy as np

from buildlog.core.forecast.calendar import last_known, local_day
from buildlog.core.forecast.input import ForecastInput, ShiftInput
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.forecast import KIND_WORDS, Forecast
from buildlog.core.forecast.simulate.records import AT_LIMIT, JOB, NOTHING_OPEN
from buildlog.core.work.stages import STAGES

STANDING_BY = 0.1  # person-hours of waiting by hour of work, from which on waiting is the reason


def holdup(seen: Forecast) -> Fact | None:
    """The reason; None where hands are busy all the time, and days are what is short."""
    waits, work = seen.waits.mean(axis=0), float(seen.hours.sum(axis=1).mean())
    if waits.sum() < STANDING_BY * work:
        return None
    reason, limits = int(np.argmax(waits)), seen.limits
    kind, share = limits[0] if limits else (JOB, 0.0)
    then = otherwise(seen.inputs)
    if reason < NOTHING_OPEN:
        stage, fit = STAGES[reason].value, seen.inputs.people[reason]
        return Fact("held_by_room", {"stage": stage, "fit": fit, "otherwise": then})
    if reason == AT_LIMIT:
        return Fact("held_by_limit", {"otherwise": then})
    if kind == JOB:
        return Fact("held_by_jobs", {"percent": round(100 * share), "otherwise": then})
    return Fact("held_by_order", {"work": KIND_WORDS[kind], "otherwise": then})


def otherwise(inputs: ForecastInput) -> str:
    """What else there is to do: a later target helps where somebody comes after it."""
    last = last_known(inputs)
    return "days_or_target" if last and last > (inputs.target or math.inf) else "days"


def days_are_short(spells: tuple[ShiftInput, ...], inputs: ForecastInput) -> Fact:
    """How long somebody is there before the target."""
    target = inputs.target or inputs.as_of
    before = [ShiftInput(spell.start, min(spell.end, target), spell.day) for spell in spells if spell.start < target]
    days = {local_day(spell.start, inputs.time_zone) for spell in before}
    hours = sum(spell.end - spell.start for spell in before)
    return Fact("days_are_short", {"hours": hours, "days": len(days), "otherwise": otherwise(inputs)})
