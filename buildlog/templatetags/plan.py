"""Lengths and shares in templates."""

from __future__ import annotations

from math import ceil

from django import template

from buildlog.core.units import FOOT, IMPERIAL, show_length

register = template.Library()


@register.filter
def measure(metres: float | None, system: str) -> str:
    """A length in the build's units: 2.6 m, 30 mm; 8 ft 6 in, 1 in; – for none."""
    if metres is None:
        return "–"
    return show_length(metres, system).replace(" ", "\u00a0").replace("-", "−")


@register.filter
def in_metres(metres: float, system: str) -> str:
    """A length in a column that is all in metres, so that it compares: 0.196 m, 2.100 m."""
    return measure(metres, system) if system == IMPERIAL else f"{metres:.3f}\u00a0m"


@register.filter
def in_millimetres(metres: float, system: str) -> str:
    """The same for short ones: 6.0 mm."""
    return measure(metres, system) if system == IMPERIAL else f"{1000 * metres:.1f}\u00a0mm"


@register.filter
def stretch(metres: float, system: str) -> str:
    """A long way in whole metres or feet: 590 m, 1,667 ft."""
    if system == IMPERIAL:
        return f"{metres / FOOT:,.0f}\u00a0ft"
    return f"{metres:,.0f}\u00a0m"


@register.simple_tag
def amount(number: float, unit: str, system: str) -> str:
    """How much of something, as it is counted in a store: 1,024; 546.1 m, 1,791.6 ft."""
    if unit != "m":
        return figure(number, unit)
    long, unit = _sold_by(number, system)
    return f"{long:,.1f}".removesuffix(".0") + f"\u00a0{unit}"


@register.simple_tag
def enough(number: float, unit: str, system: str) -> str:
    """The same, never too little: up to the next whole metre or foot."""
    if unit != "m":
        return figure(number, unit)
    long, unit = _sold_by(number, system)
    return f"{ceil(round(long, 6)):,}\u00a0{unit}"


def _sold_by(metres: float, system: str) -> tuple[float, str]:
    return (metres / FOOT, "ft") if system == IMPERIAL else (metres, "m")


@register.filter
def millimetres(mm: float, system: str) -> str:
    """A length kept in millimetres, in the build's units: 5 m, 640 mm."""
    return measure(mm / 1000, system)


@register.filter
def figure(value: float | None, unit: str) -> str:
    """A figure with its unit, as short as it makes sense: 1,024, 3.5 m, –."""
    if value is None:
        return "–"
    text = f"{value:,.0f}" if abs(value) >= 100 or value == int(value) else f"{value:.3g}"
    return f"{text}\u00a0{unit}".strip().replace("-", "−")


@register.filter
def percent(share: float, places: int = 1) -> str:
    """A share in per cent, with its sign only below zero: 4.2 %."""
    return f"{100 * share:.{places}f}".replace("-", "−") + "\u00a0%"
