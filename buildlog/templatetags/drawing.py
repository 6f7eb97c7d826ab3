"""Drawings in templates."""

from __future__ import annotations

from django import template

from buildlog.core.work.map_cell import MapCell
from buildlog.drawings import bands as small
from buildlog.drawings.svg import Markup

register = template.Library()


@register.simple_tag
def bands(cell: MapCell) -> Markup:
    """Four bands of a segment, filling from below."""
    return small.bands(cell.shares)


@register.simple_tag
def stage_bar(level: int, share: float) -> Markup:
    """The bar of one stage (level 1 to 4)."""
    return small.stage_bar(level, share)


@register.simple_tag
def swatch(level: int) -> Markup:
    """The square of a legend (level 0 to 4)."""
    return small.swatch(level)
