"""Facts of forecasts in words, in the language of whoever looks: all words are in the core."""

from __future__ import annotations

from django import template

from buildlog import words
from buildlog.core.forecast.result import sentences
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import HelpersStep

register = template.Library()


@register.filter
def in_words(fact: Fact | None) -> str:
    return words.in_words(fact) if fact else ""


@register.filter
def more_helpers(step: HelpersStep) -> str:
    return words.say(sentences.who(step))


@register.filter
def waits_for(document: ForecastDocument) -> str:
    return words.say(sentences.waits_for(document))


@register.filter
def limits(document: ForecastDocument) -> tuple[tuple[str, int], ...]:
    return tuple((words.say(what), percent) for what, percent in sentences.limits(document))


@register.filter
def idle(document: ForecastDocument) -> tuple[tuple[str, float], ...]:
    return tuple((words.say(what), hours) for what, hours in sentences.idle(document))
