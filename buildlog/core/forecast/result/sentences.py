"""The sentences of forecasts, made when they are shown: every fact's code has its words here, and nowhere else.

Days in facts are ISO dates, hours person-hours. ``words`` gives the sentence, ``phrase`` a reason as part of one.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from buildlog.core.forecast.result.document.coding import WRITTEN, Fact
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import HelpersStep
from buildlog.core.wording import counted, listed, person_hours
from buildlog.core.work.stages import STAGES

REASONS = {stage.value: stage.facts.doing for stage in STAGES} | {"jobs": "a job", "rework": "rework"}
IDLE = {"open": "work that is not open yet", "limit": "the next day, populate hours being used up"}
OTHERWISE = {"days": "add days under Crew", "days_or_target": "add days, or move the target"}


def words(fact: Fact) -> str:
    """The sentence of a fact."""
    return SAYS[fact.code](*fact.parts, **fact.values)


def phrase(fact: Fact) -> str:
    """A reason that stops the build, as part of a sentence."""
    return PHRASES[fact.code](**fact.values)


def reason(work: str) -> str:
    """What the finish waits for."""
    return REASONS.get(work, work)


def waits_for(document: ForecastDocument) -> str:
    """What the finish waits for most often; "" when nothing stands out."""
    if not document.limits:
        return ""
    first = document.limits[0]
    return f"The finish waits for {reason(first.stage)} in {round(100 * first.share)} of 100 trials."


def limits(document: ForecastDocument) -> tuple[tuple[str, int], ...]:
    """(what the finish waits for, in how many of 100 trials), most often first; what rounds to none is left out."""
    rows = ((reason(row.stage), round(100 * row.share)) for row in document.limits)
    return tuple((what, percent) for what, percent in rows if percent)


def idle(document: ForecastDocument) -> tuple[tuple[str, float], ...]:
    """(what helpers stand by for, person-hours on average), longest first."""
    return tuple((IDLE.get(name, f"room at {name}"), hours) for name, hours in document.idle)


def who(step: HelpersStep) -> str:
    """How many more come."""
    if step.helpers:
        return counted(step.helpers, "more helper")
    return "nobody more, begun segments handed over" if step.hand_over else "nobody more"


def day_words(iso_day: str) -> str:
    """A date as people say it, with its weekday: Fri 12 June 2026."""
    day = date.fromisoformat(iso_day)
    return f"{day:%a} {day.day} {day:%B} {day.year}"


# ---- what stops a build ---------------------------------------------------------------------


def _verb(stage: str | None, job: str | None) -> str:
    return stage or f"do {job}"


def _needs(stage: str | None, job: str | None, needed: int) -> str:
    return f"{'A segment' if stage else job} needs {needed} helpers to {_verb(stage, job)}"


def _never_at_once(needed: int, stage: str | None = None, job: str | None = None, **rest: Any) -> str:
    return f"it takes {needed} to {_verb(stage, job)}, and never so many who can are there at once"


PHRASES: dict[str, Callable[..., str]] = {
    "no_helpers": lambda: "there are no helpers yet",
    "no_shifts": lambda: "nobody has said when they can come",
    "no_skill": lambda stages: f"nobody has the skill to {listed(stages, 'or')}",
    "no_populating": lambda: "nobody may populate, everybody's limit being 0 h a day",
    "no_room": lambda stage: f"nobody may {stage}, the limit of people there being 0",
    "too_little_room": lambda stage, needed, limit: f"it takes {needed} to {stage} and only {limit} fit",
    "too_few_able": _never_at_once,
    "nobody_able_comes": lambda stage, job: f"nobody who can {_verb(stage, job)} is down for a shift",
    "never_at_once": _never_at_once,
    "jobs_in_a_circle": lambda jobs: f"{listed(jobs)} wait for each other",
}
BLOCKS: dict[str, Callable[..., str]] = {
    "no_helpers": lambda: "There are no helpers yet: enter the crew, then the forecast has a date.",
    "no_shifts": lambda: "Nobody is down for any shift from now on: enter availability under Crew.",
    "no_skill": lambda stages: (
        f"Nobody has the skill to {listed(stages, 'or')}, and there is work for it: show somebody how."
    ),
    "no_populating": lambda: (
        "Everybody's populate limit is 0 h a day, and there are pixels to populate: raise it under Crew."
    ),
    "no_room": lambda stage: f"Nobody may {stage}: the limit of people at that stage is 0. Set it to 1 or more.",
    "too_little_room": lambda stage, needed, limit: (
        f"A segment needs {needed} helpers to {stage}, but only {limit} fit: change one of the two."
    ),
    "too_few_able": lambda needed, able, stage, job: (
        f"{_needs(stage, job, needed)}, and {able} can: show one more how."
    ),
    "nobody_able_comes": lambda stage, job: (
        f"Nobody who can {_verb(stage, job)} is down for a shift from now on: ask one of them to come."
    ),
    "never_at_once": lambda needed, stage, job: (
        f"{_needs(stage, job, needed)}, and never so many of those who can are there at once: add shifts under Crew."
    ),
    "jobs_in_a_circle": lambda jobs: (
        f"These jobs wait for each other and can never begin: {', '.join(jobs)}. Take one 'after' away."
    ),
}


# ---- warnings and the sentence on top -------------------------------------------------------


def _missing(hours: float) -> str:
    lost = person_hours(hours)
    return f"about {lost} {'is' if lost.startswith('1 ') else 'are'} missing"


def _to_go(hours: int) -> str:
    return f"{counted(hours, 'person-hour')} to go"


def _to_find(missing: int | None) -> str:
    return ", all still to find" if missing is None else f", about {missing} of them still to find"


WARNINGS: dict[str, Callable[..., str]] = {
    WRITTEN: lambda words: str(words),
    "assigned_too_much": lambda name, work, shifts: (
        f"The segments handed to {name} are about {work:.0f} h of work, and {name} is down for {shifts:.0f} h: the "
        "forecast lets others take them too. Hand some of them out again."
    ),
    "nothing_measured": lambda: "Nothing is measured yet: the forecast rests on the standard rates alone.",
    "stints_unconfirmed": lambda stints: (
        f"{stints} {'stint is' if stints == 1 else 'stints are'} still to be confirmed and left out of the rates: look "
        "at them under Hours."
    ),
    "target_passed": lambda: "The target has passed: set another one.",
    "hours_missing": lambda hours: (
        f"The shifts noted are not enough: {_missing(hours)}. Add shifts or helpers under Crew."
    ),
    "hours_missing_at_times": lambda hours, percent: (
        f"In {percent} of 100 trials the build does not end within the known availability: {_missing(hours)} then. "
        "Add shifts or helpers under Crew."
    ),
}
HEADLINES: dict[str, Callable[..., str]] = {
    "all_done": lambda: "Everything is done: nothing is left to forecast.",
    "ready_by": lambda day, hours: f"Ready by {day_words(day)}, 80 % sure; {_to_go(hours)}.",
    "no_date": lambda *reasons, hours: (
        f"No date can be given: {listed([phrase(part) for part in reasons])}; {_to_go(hours)}."
    ),
    "hardly_sure": lambda percent, known_to, hours, to_find: (
        f"Only {percent} % sure to be ready within the known availability (to {day_words(known_to)}); "
        f"{_to_go(hours)}{_to_find(to_find)}."
    ),
    "not_in_time": lambda known_to, hours, to_find: (
        f"Not ready within the known availability (to {day_words(known_to)}); {_to_go(hours)}{_to_find(to_find)}."
    ),
}


# ---- day plan and assignments ---------------------------------------------------------------


def _unfinished(known_to: str | None) -> str:
    known = f" (to {day_words(known_to)})" if known_to else ""
    return f"Going on like this it is not ready within the shifts noted{known}: add shifts or helpers under Crew."


def _assigned(*plan: Fact, segments: int, helpers: int, day: str, ends: str | None, ended: str | None) -> str:
    first = f"{counted(segments, 'segment')} for {counted(helpers, 'helper')} on {_short_day(day)}."
    if ends is None or ended is None:
        return " ".join([first, *map(words, plan)])
    without = "" if ends == ended else f", without on {day_words(ended)}"
    return f"{first} With it the day plan ends on {day_words(ends)}{without}."


def _short_day(iso_day: str) -> str:
    return day_words(iso_day).rpartition(" ")[0]


PLANS: dict[str, Callable[..., str]] = {
    "plan_done": lambda: "Everything is done: nothing is left to plan.",
    "plan_ready": lambda day: f"Going on like this it is ready on {day_words(day)}.",
    "plan_stopped": lambda *reasons: (
        f"It does not end like this: {listed([phrase(part) for part in reasons])}. {words(reasons[0])}"
    ),
    "plan_unfinished": _unfinished,
    "nothing_to_assign": lambda plan: f"There is nothing to hand out. {words(plan)}",
    "all_assigned": lambda day: (
        f"Nothing is left to hand out for {_short_day(day)}: what is worked on then is somebody's already."
    ),
    "assigned": _assigned,
}


# ---- what it takes --------------------------------------------------------------------------


def _helpers_who_can(helpers: int, skills: list[str]) -> str:
    people = "one more helper" if helpers == 1 else counted(helpers, "more helper")
    return f"{people} who can {listed(skills)}" if skills else people


def _over(hand_over: bool) -> str:
    return " if begun segments are handed over to whoever is there" if hand_over else ""


def _not_enough(
    why: Fact, most: int, day: str, wanted: int, percent: int, hours: float, helpers: int, skills: list[str],
    hand_over: bool,
) -> str:  # fmt: skip
    first = f"No number of extra hands up to {most} at a time brings {day_words(day)} to {wanted} %"
    if hours <= 0:
        return f"{first}: it stays at {percent} %. {words(why)}"
    others = ", and others beside them hardly help" if helpers < most else ""
    people = _helpers_who_can(helpers, skills)
    more = f"{person_hours(hours)} more, from {people}, make it {percent} %{_over(hand_over)}{others}"
    return f"{first}: {more}. {words(why)}"


TARGETS: dict[str, Callable[..., str]] = {
    "needs_nothing": lambda: "Everything is done: nothing more is needed.",
    "stopped": lambda block, nobody_there: (
        f"{words(block)} Extra hands are counted at the times when the crew comes."
        if nobody_there
        else f"No number of extra hands helps as things stand. {words(block)}"
    ),
    "no_shift_before": lambda day: (
        f"Nobody is down for a shift before {day_words(day)}, and others come when the crew does: add shifts under "
        "Crew."
    ),
    "enough_already": lambda day, percent, hand_over: (
        f"Nothing more is needed: {day_words(day)} is {percent} % sure{_over(hand_over)}."
    ),
    "enough_with": lambda day, percent, hours, helpers, skills, hand_over: (
        f"{person_hours(hours)} more by {day_words(day)}, from {_helpers_who_can(helpers, skills)}, make it "
        f"{percent} % sure{_over(hand_over)}."
    ),
    "not_enough": _not_enough,
    "held_by_room": lambda stage, fit, otherwise: (
        f"{REASONS[stage].capitalize()} holds it up: only {fit} fit at once. Let more in if that is safe, or "
        f"{OTHERWISE[otherwise]}."
    ),
    "held_by_limit": lambda otherwise: f"The hours of populating a day are used up: {OTHERWISE[otherwise]}.",
    "held_by_jobs": lambda percent, otherwise: (
        f"Jobs hold it up, in {percent} of 100 trials: they take as long however many come. Begin them sooner, or "
        f"{OTHERWISE[otherwise]}."
    ),
    "held_by_order": lambda work, otherwise: (
        f"Hands stand by for work that is not open yet, most often behind {REASONS[work]}: a segment passes its stages "
        f"one after the other: {OTHERWISE[otherwise]}."
    ),
    "days_are_short": lambda hours, days, otherwise: (
        f"The crew is there for {hours:.0f} h on {counted(days, 'day')} before it: {OTHERWISE[otherwise]}."
    ),
}

SAYS = BLOCKS | WARNINGS | HEADLINES | PLANS | TARGETS
