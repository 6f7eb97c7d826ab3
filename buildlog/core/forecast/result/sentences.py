"""The sentences of forecasts, made when they are shown: the words of a fact's code are in ``fact_words``.

Days in facts are ISO dates, hours person-hours. ``sentence`` gives a template with its values, ``phrase`` a reason as
part of one; the edge says them in the language of whoever looks.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from string import Formatter

from buildlog.core.forecast.result.document.coding import WRITTEN, Fact
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import HelpersStep
from buildlog.core.forecast.result.fact_words import PHRASES, SAYS, Values, Words
from buildlog.core.wording import Count, Listing, Sentence, _, all_of, any_of, whole_person_hours
from buildlog.core.work.stages import STAGES

REASONS = {stage.value: stage.facts.doing for stage in STAGES} | {"jobs": _("a job"), "rework": _("rework")}
IDLE = {"open": _("work that is not open yet"), "limit": _("the next day, populate hours being used up")}
OTHERWISE = {"days": _("add days under Crew"), "days_or_target": _("add days, or move the target")}
WEEKDAYS = (_("Mon"), _("Tue"), _("Wed"), _("Thu"), _("Fri"), _("Sat"), _("Sun"))
MONTHS = (
    _("January"), _("February"), _("March"), _("April"), _("May"), _("June"), _("July"), _("August"), _("September"),
    _("October"), _("November"), _("December"),
)  # fmt: skip


def sentence(fact: Fact) -> Sentence:
    """The sentence of a fact."""
    if fact.code == WRITTEN:
        return Sentence(str(fact.values["words"]))  # nobody's template: braces in it stay
    return _filled(SAYS[fact.code], fact)


def phrase(fact: Fact) -> Sentence:
    """A reason that stops the build, as part of a sentence."""
    return _filled(PHRASES[fact.code], fact)


def reason(work: str) -> Sentence:
    """What the finish waits for."""
    return Sentence(REASONS.get(work, work))


def waits_for(document: ForecastDocument) -> Sentence:
    """What the finish waits for most often; empty when nothing stands out."""
    if not document.limits:
        return Sentence("")
    first, what = document.limits[0], _("The finish waits for {work} in {percent} of 100 trials.")
    return Sentence(what, work=reason(first.stage), percent=round(100 * first.share))


def limits(document: ForecastDocument) -> tuple[tuple[Sentence, int], ...]:
    """(what the finish waits for, in how many of 100 trials), most often first; what rounds to none is left out."""
    rows = ((reason(row.stage), round(100 * row.share)) for row in document.limits)
    return tuple((what, percent) for what, percent in rows if percent)


def idle(document: ForecastDocument) -> tuple[tuple[Sentence, float], ...]:
    """(what helpers stand by for, person-hours on average), longest first."""
    return tuple((_idle(name), hours) for name, hours in document.idle)


def _idle(name: str) -> Sentence:
    return Sentence(IDLE[name]) if name in IDLE else Sentence(_("room at {stage}"), stage=name)


def who(step: HelpersStep) -> Sentence:
    """How many more come."""
    if step.helpers:
        return Sentence("{helpers}", helpers=_more_helpers(step.helpers))
    return Sentence(_("nobody more, begun segments handed over") if step.hand_over else _("nobody more"))


def day_words(iso_day: str) -> Sentence:
    """A date as people say it, with its weekday: Fri 12 June 2026."""
    return Sentence(_("{day} {year}"), day=_short_day(iso_day), year=date.fromisoformat(iso_day).year)


# ---- what the templates name ----------------------------------------------------------------


def _filled(words: Words, fact: Fact) -> Sentence:
    template = words if isinstance(words, str) else words(fact.values)
    names = dict.fromkeys(name for _text, name, *_rest in Formatter().parse(template) if name)
    return Sentence(template, **{name: SHOWN[name](fact) if name in SHOWN else fact.values[name] for name in names})


def _short_day(iso_day: str) -> Sentence:
    day = date.fromisoformat(iso_day)
    weekday, month = Sentence(WEEKDAYS[day.weekday()]), Sentence(MONTHS[day.month - 1])
    return Sentence(_("{weekday} {day} {month}"), weekday=weekday, day=day.day, month=month)


def _more_helpers(number: int) -> Count:
    return Count(number, _("{number} more helper"), _("{number} more helpers"))


def _people(values: Values) -> Sentence:
    helpers = values["helpers"]
    people = Sentence(_("one more helper")) if helpers == 1 else _more_helpers(helpers)
    if not values["skills"]:
        return Sentence("{people}", people=people)
    return Sentence(_("{people} who can {skills}"), people=people, skills=all_of(values["skills"]))


def _to_find(missing: int | None) -> Sentence:
    if missing is None:
        return Sentence(_(", all still to find"))
    return Sentence(_(", about {missing} of them still to find"), missing=missing)


def _over(hand_over: bool) -> Sentence:
    return Sentence(_(" if begun segments are handed over to whoever is there") if hand_over else "")


def _task(values: Values) -> Sentence:
    stage, job = values.get("stage"), values.get("job")
    return Sentence(stage) if stage else Sentence(_("do {job}"), job=job)


def _of(name: str, show: Callable[..., object], *words: str) -> Callable[[Fact], object]:
    """A value of the fact, shown in this way."""
    return lambda fact: show(fact.values[name], *words)


def _hours(hours: float, one: str, many: str) -> Count:
    return Count(whole_person_hours(hours).number, one, many)


SHOWN: dict[str, Callable[[Fact], object]] = {
    **{name: _of(name, day_words) for name in ("day", "known_to", "ends", "ended")},
    "short_day": _of("day", _short_day),
    "stages": _of("stages", any_of),
    "jobs": _of("jobs", all_of),
    "all_jobs": _of("jobs", Listing),
    "task": lambda fact: _task(fact.values),
    "who_needs": lambda fact: Sentence(_("A segment")) if fact.values["stage"] else fact.values["job"],
    "stints_are": _of("stints", Count, _("{number} stint is"), _("{number} stints are")),
    "segments_are": _of("segments", Count, _("{number} segment"), _("{number} segments")),
    "helpers_are": _of("helpers", Count, _("{number} helper"), _("{number} helpers")),
    "days_are": _of("days", Count, _("{number} day"), _("{number} days")),
    "to_go": _of("hours", Count, _("{number} person-hour to go"), _("{number} person-hours to go")),
    "missing": _of(
        "hours", _hours, _("about {number} person-hour is missing"), _("about {number} person-hours are missing")
    ),
    "to_find": _of("to_find", _to_find),
    "person_hours": _of("hours", whole_person_hours),
    "people": lambda fact: _people(fact.values),
    "over": _of("hand_over", _over),
    "reason": _of("work", reason),
    "holder": lambda fact: Sentence(REASONS[str(fact.values["stage"])].capitalize()),
    "otherwise": lambda fact: Sentence(OTHERWISE[str(fact.values["otherwise"])]),
    "reasons": lambda fact: all_of([phrase(part) for part in fact.parts]),
    "first": lambda fact: sentence(fact.parts[0]),
}
