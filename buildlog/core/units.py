"""Lengths as people write them, in and out. Inside the core every length is in metres."""

from __future__ import annotations

import math
import re

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

METRIC, IMPERIAL = "metric", "imperial"
INCH, FOOT = 0.0254, 0.3048  # exact since 1959

_UNITS = {
    "m": 1.0,
    "metre": 1.0,
    "metres": 1.0,
    "meter": 1.0,
    "meters": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "ft": FOOT,
    "foot": FOOT,
    "feet": FOOT,
    "'": FOOT,
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
}
_ALLOWED = "write 2.6m, 26 cm, 30mm, 8ft, 1in or 8' 6\"; a bare number is metres"
_LOOKALIKES = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "\u00a0": " ", "−": "-"})
_NUMBER = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_ONE = re.compile(rf"({_NUMBER})\s*([a-z]+|['\"])?")
_FEET_INCHES = re.compile(rf"({_NUMBER})\s*(?:ft|feet|foot|')\s*({_NUMBER})\s*(?:in|inch|inches|\")?")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?")


def length(value: object, field: str = "", least: float | None = None) -> float:
    """What was given, in metres [m].

    A bare number is metres. ``least`` is the smallest length allowed; without it the length must be above zero.
    Raises Refused, with ``field`` as the place, when it is no length.

    >>> round(length("8' 6\\""), 4)
    2.5908
    """
    metres = _parse(value, field)
    if not math.isfinite(metres):
        raise Refused(Problem(_("{given!s} is not a length: {allowed}."), field, given=value, allowed=_ALLOWED))
    if least is None and metres <= 0:
        raise Refused(Problem(_("{given!s} is not above zero: {allowed}."), field, given=value, allowed=_ALLOWED))
    if least is not None and metres < least:
        raise Refused(
            Problem(
                _("{given!s} is less than {least}: write that much or more."),
                field,
                given=value,
                least=show_length(least),
            )
        )
    return metres


def _parse(value: object, field: str) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    text = str(value).translate(_LOOKALIKES).strip().lower()
    if both := _FEET_INCHES.fullmatch(text):
        return _number(both[1], field) * FOOT + _number(both[2], field) * INCH
    match = _ONE.fullmatch(text)
    if match is None or (match[2] or "m") not in _UNITS:
        raise Refused(Problem(_("“{given}” is not a length: {allowed}."), field, given=value, allowed=_ALLOWED))
    return _scaled(_number(match[1], field), _UNITS[match[2] or "m"])


def _scaled(number: float, unit: float) -> float:
    """30 mm is the float 0.03, not 30 × 0.001: a length reads back as it was typed."""
    return number / round(1 / unit) if unit in (0.01, 0.001) else number * unit


def _number(text: str, field: str) -> float:
    if _THOUSANDS.fullmatch(text):
        plain, point = text.replace(",", ""), text.replace(",", ".", 1)
        raise Refused(
            Problem(
                _("“{text}” could be {point} or {plain}: write it without the comma."),
                field,
                text=text,
                point=point,
                plain=plain,
            )
        )
    whole, __, part = text.rpartition(" ")
    if "/" not in part:
        return float(text.replace(",", "."))
    above, below = part.split("/")
    if int(below) == 0:
        raise Refused(Problem(_("“{text}” divides by zero: {allowed}."), field, text=text, allowed=_ALLOWED))
    return float(whole or 0) + float(above) / int(below)


def show_length(metres: float, system: str = METRIC) -> str:
    """The length as a builder says it: ``2.6 m``, ``30 mm``; ``8 ft 6 in``, ``1 in``."""
    if system == IMPERIAL:
        return _imperial(metres)
    if abs(metres) < 0.9995:
        return f"{_trim(metres * 1000, 1)} mm"
    return f"{_trim(metres, 3)} m"


def write_length(metres: float, system: str = METRIC) -> str:
    """The length as text that ``length`` reads back exactly: short where that is exact, all digits where it is not.

    >>> write_length(0.0254, IMPERIAL), write_length(0.03), write_length(2.6128)
    ('1 in', '30 mm', '2.6128 m')
    """
    shown = show_length(metres, system)
    if metres >= 0 and _parse(shown, "") == metres:
        return shown
    if system == IMPERIAL and _parse(inches := f"{metres / INCH!r} in", "") == metres:
        return inches
    return f"{metres!r} m"


def _imperial(metres: float) -> str:
    sign, inches = ("-" if metres < 0 else ""), round(abs(metres) / INCH, 2)
    feet, rest = divmod(inches, 12)
    if not feet:
        return f"{sign}{_trim(rest, 2)} in"
    return f"{sign}{int(feet)} ft" + (f" {_trim(rest, 2)} in" if round(rest, 2) else "")


def _trim(number: float, places: int) -> str:
    text = f"{number:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
