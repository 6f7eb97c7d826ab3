"""Numbers and trade words in templates."""

from __future__ import annotations

import re
from datetime import datetime

from django import template
from django.utils.html import json_script
from django.utils.timesince import timesince

from buildlog.core.wording import Sentence
from buildlog.core.work.stages import STAGES, Stage
from buildlog.words import say

register = template.Library()
UNIT = re.compile(r"(?<=\d) (?=%|h\b|m\b|mm\b|person-hours?\b)")


@register.filter
def grouped(count: float) -> str:
    """A count in groups of three: 12,480."""
    return f"{round(count):,}"


@register.filter
def glued(sentence: str) -> str:
    """A sentence whose numbers and units stay on one line."""
    return UNIT.sub("\u00a0", sentence)


@register.filter
def ago(moment: datetime, now: datetime) -> str:
    """How long it is ago: just now, 3 minutes ago."""
    length = timesince(moment, now)
    return "just now" if length.startswith("0") else f"{length} ago"


@register.filter
def age(moment: datetime, now: datetime) -> int:
    """How long it is ago [s]."""
    return max(0, round((now - moment).total_seconds()))


@register.filter
def signed(count: int) -> str:
    """A count with its sign: +25, −10."""
    return f"{count:+,}".replace("-", "−")


@register.simple_tag
def stage_table() -> str:
    """What scripts know of the stages, as one JSON block of the page."""
    return json_script({stage.value: {"done": stage.done} for stage in STAGES}, "stages")


@register.simple_tag
def stages() -> tuple[Stage, ...]:
    """The four stages in order, for legends."""
    return STAGES


@register.filter
def done_word(stage: str) -> str:
    """The word for pixels that have passed: populated, mounted, wired, tested."""
    return Stage(stage).done


@register.filter
def said(sentence: Sentence | str) -> str:
    """A sentence of the core in the language of whoever looks at it."""
    return say(sentence) if isinstance(sentence, Sentence) else sentence
