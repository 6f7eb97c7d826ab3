"""Plan parameters from what people write: the same option names on the form and on the command line."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.checking import LIMITS, number_problem
from buildlog.core.plan.parameters import CUTS, ENDS, MeasuredRing, PlanParameters
from buildlog.core.units import length


@dataclass(frozen=True)
class Option:
    """One thing a lead can say: its name, the parameter it sets, what it means, and how its text is read."""

    name: str
    parameter: str
    help: str
    read: Callable[[str, str], Any]
    choices: tuple[str, ...] = ()
    switch: bool = False


def _length(text: str, name: str) -> float:
    return length(text, name, least=0.0)


def _whole(text: str, name: str) -> int:
    if not re.fullmatch(r"[+-]?\d+", text):
        raise Refused(Problem(f"“{text}” is not a whole number: write digits only, like 100.", name))
    return int(text)


def _decimal(text: str, name: str) -> float:
    try:
        return float(text.rstrip("°").strip().replace(",", "."))
    except ValueError:
        raise Refused(Problem(f"“{text}” is not a number: write it like 12.5.", name)) from None


def _share(text: str, name: str) -> float:
    return _decimal(text[:-1], name) / 100 if text.endswith("%") else _decimal(text, name)


def _word(text: str, name: str) -> str:
    return text


def _switch(text: str, name: str) -> bool:
    return text.lower() not in ("", "0", "no", "false")


def _pair(text: str, name: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d+)(?:\s*[-–]\s*(\d+))?", text)
    if match is None:
        raise Refused(Problem(f"“{text}” is not a range: write it like 88-90.", name))
    first, last = match.groups()
    return int(first), int(last or first)


def _people(text: str, name: str) -> tuple[tuple[str, int], ...]:
    pairs = []
    for part in filter(None, re.split(r"[\s,;]+", text)):
        stage, _, number = part.partition("=")
        pairs.append((stage.lower(), _whole(number, name)))
    return tuple(dict(pairs).items())


_HELP = {
    "diameter": "diameter of the ball at the pixels",
    "pitch": "distance between neighbouring pixels along a strap",
    "ring_spacing": "distance between neighbouring rings along the surface",
    "rings_count": "number of rings, instead of the spacing",
    "top_pixels": "pixels of the first ring: where the top opening ends",
    "top_deg": "polar angle of the first ring, instead of its pixels",
    "bottom_pixels": "pixels of the last ring: where the bottom opening begins",
    "bottom_deg": "angle of the last ring, from the bottom up to 90, from the top above",
    "snap_share": "share of the spacing a ring may move to hold whole pitches",
    "ribs": "ribs of the frame; joints go to the nearest one",
    "max_segment": "most pixels in one segment",
    "min_segment": "fewest pixels in one segment",
    "seam_rib": "rib on which the rings close",
    "seam_stagger": "bays by which each ring's seam moves on",
    "strap_width": "width of the strap",
    "edge_strain_limit": "share by which the strap's edges may stretch",
    "capacity": "most pixels on one channel",
    "outputs": "outputs of the controllers",
    "spare_share": "share of the outputs kept spare",
}


def _number_option(parameter: str) -> Option:
    limit = LIMITS[parameter]
    shares = ("snap_share", "edge_strain_limit", "spare_share")
    read = _length if limit.unit == "m" else _share if parameter in shares else _whole if limit.whole else _decimal
    return Option(limit.option, parameter, _HELP[limit.option], read)


OPTIONS: tuple[Option, ...] = (
    *(_number_option(parameter) for parameter in LIMITS if LIMITS[parameter].option in _HELP),
    Option("channel_cut", "channel_cut", "where a channel may end", _word, choices=CUTS),
    Option("start_from", "start_from", "end of the ball where the data begin", _word, choices=ENDS),
    Option("alternate", "alternate", "turning direction changes from ring to ring", _switch, switch=True),
    Option("closing_rings", "closing_rings", "rings that close the way in, like 88-90", _pair),
    Option("closing_bays", "closing_bays", "with closing rings: bays of the door, like 7-9", _pair),
    Option("people", "people", "how many fit at a stage at once, like wire=2", _people),
)


def read_options(texts: Mapping[str, str], measured: tuple[MeasuredRing, ...] | None = None) -> PlanParameters:
    """The parameters that these texts say; an empty text leaves an option at its default.

    Raises Refused with every problem, each by its option's name.

    >>> read_options({"diameter": "2.6m", "pitch": "30mm", "ring_spacing": "30mm"}).pitch_m
    0.03
    """
    known = {option.name for option in OPTIONS}
    problems = [Problem(f"There is no option {name!r}.", name) for name in texts if name not in known]
    given: dict[str, Any] = {"measured": measured}
    for option in OPTIONS:
        text = texts.get(option.name, "").strip()
        if text:
            _take(option, text, given, problems)
    if problems:
        raise Refused([*problems, *_others(given)])
    return PlanParameters(**given)


def _take(option: Option, text: str, given: dict[str, Any], problems: list[Problem]) -> None:
    try:
        given[option.parameter] = option.read(text, option.name)
    except Refused as refused:
        problems += refused.problems


def _others(given: dict[str, Any]) -> tuple[Problem, ...]:
    """What else is wrong with the numbers that could be read; what is merely missing may be among the unread."""
    limits = {name: LIMITS[name] for name in given if name in LIMITS}
    return tuple(
        problem for name, limit in limits.items() if (problem := number_problem(given[name], limit)) is not None
    )
