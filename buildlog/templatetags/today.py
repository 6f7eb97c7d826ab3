"""What Today and the forms of entries need in templates."""

from __future__ import annotations

import uuid

from django import template

from buildlog.core.work.handload import hours

register = template.Library()


@register.simple_tag
def new_id() -> str:
    """An id of its own for one form on one page: a second press of its button is the same entry."""
    return str(uuid.uuid4())


@register.filter
def duration(length_h: float) -> str:
    """Hours as people say them: 2 h 30 min."""
    return hours(length_h)
