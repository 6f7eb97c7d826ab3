"""Plan parameters from what people write: the same option names on the form and on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.limits import BALL, Limit, number_problem
from buildlog.core.plan.option_table import OPTIONS, Option
from buildlog.core.plan.parameters import MeasuredRing, PlanParameters
from buildlog.core.plan.settings import GROUPS, LIMITS
from buildlog.core.units import METRIC

__all__ = ["OPTIONS", "Option", "read_options", "write_options"]

_LIMITS: dict[str, Limit] = {
    **BALL,
    **{f"{group}.{name}": limit for group, limits in LIMITS.items() for name, limit in limits.items()},
}


def read_options(texts: Mapping[str, str], measured: tuple[MeasuredRing, ...] | None = None) -> PlanParameters:
    """The parameters that these texts say; an empty text leaves an option at its default.

    Raises Refused with every problem, each by its option's name.

    >>> read_options({"diameter": "2.6m", "pitch": "30mm", "ring_spacing": "30mm"}).pitch_m
    0.03
    """
    known = {option.name for option in OPTIONS}
    problems = [Problem(f"There is no option {name!r}.", name) for name in texts if name not in known]
    given: dict[str, Any] = {}
    for option in OPTIONS:
        text = texts.get(option.name, "").strip()
        if text:
            _take(option, text, given, problems)
    if problems:
        raise Refused([*problems, *_others(given)])
    return _made(given, measured)


def _take(option: Option, text: str, given: dict[str, Any], problems: list[Problem]) -> None:
    try:
        given[option.parameter] = option.read(text, option.name)
    except Refused as refused:
        problems += refused.problems


def _others(given: Mapping[str, Any]) -> list[Problem]:
    """What else is wrong with the numbers that could be read; what is merely missing may be among the unread."""
    found = (number_problem(value, _LIMITS[name]) for name, value in given.items() if name in _LIMITS)
    return [problem for problem in found if problem is not None]


def _made(given: Mapping[str, Any], measured: tuple[MeasuredRing, ...] | None) -> PlanParameters:
    """Parameters with their groups; a problem in one group does not hide those elsewhere."""
    problems: list[Problem] = []
    whole: dict[str, Any] = {name: value for name, value in given.items() if "." not in name}
    for group, kind in GROUPS.items():
        values = {name.partition(".")[2]: value for name, value in given.items() if name.startswith(f"{group}.")}
        try:
            whole[group] = kind(**values)
        except Refused as refused:
            problems += refused.problems
    try:
        parameters = PlanParameters(**whole, measured=measured)
    except Refused as refused:
        raise Refused([*refused.problems, *problems]) from None
    if problems:
        raise Refused(problems)
    return parameters


def write_options(parameters: PlanParameters, system: str = METRIC) -> dict[str, str]:
    """The texts that say these parameters, in metric or imperial; "" where nothing is given.

    ``read_options`` of them gives the parameters back: a length is written with all the digits that takes.
    """
    return {option.name: option.write(_value(parameters, option.parameter), system) for option in OPTIONS}


def _value(parameters: PlanParameters, name: str) -> Any:
    value: Any = parameters
    for part in name.split("."):
        value = getattr(value, part)
    return value
