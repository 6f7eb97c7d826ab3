"""Facts of forecasts in words: all words are in the core's module of the same name."""

from __future__ import annotations

from django import template

from buildlog.core.forecast.result import sentences
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import HelpersStep

register = template.Library()


@register.filter
def in_words(fact: Fact | None) -> str:
    return sentences.words(fact) if fact else ""


@register.filter
def more_helpers(step: HelpersStep) -> str:
    return sentences.who(step)


@register.filter
def waits_for(document: ForecastDocument) -> str:
    return sentences.waits_for(document)


@register.filter
def limits(document: ForecastDocument) -> tuple[tuple[str, int], ...]:
    return sentences.limits(document)


@register.filter
def idle(document: ForecastDocument) -> tuple[tuple[str, float], ...]:
    return sentences.idle(document)
