"""Plan parameters from what people write: the same option names on the form and on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameter import Parameter
from buildlog.core.plan.parameter_table import PARAMETERS, PARTS, MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.units import METRIC
from buildlog.core.wording import _


def read_options(texts: Mapping[str, str], measured: tuple[MeasuredRing, ...] | None = None) -> PlanParameters:
    """The parameters that these texts say; an empty text leaves an option at its default.

    Raises Refused with every problem, each by its option's name.

    >>> read_options({"diameter": "2.6m", "pitch": "30mm", "ring_spacing": "30mm"}).pitch_m
    0.03
    """
    known = {parameter.name for parameter in PARAMETERS}
    problems = [Problem(_("There is no option {name!r}."), name, name=name) for name in texts if name not in known]
    values: dict[tuple[str, str], Any] = {}
    for parameter in PARAMETERS:
        text = texts.get(parameter.name, "").strip()
        if text:
            _take(parameter, text, values, problems)
    if problems:  # what is merely missing may be among the unread
        raise Refused([*problems, *_wrong_alone(values)])
    return _made(values, measured)


def _take(parameter: Parameter, text: str, values: dict[tuple[str, str], Any], problems: list[Problem]) -> None:
    try:
        values[parameter.part, parameter.field] = parameter.kind.read(text, parameter.name)
    except Refused as refused:
        problems += refused.problems


def _wrong_alone(values: Mapping[tuple[str, str], Any]) -> list[Problem]:
    """What is wrong with the values that could be read, each looked at alone."""
    read = ((parameter, (parameter.part, parameter.field)) for parameter in PARAMETERS)
    return [
        problem for parameter, key in read if key in values for problem in parameter.kind.check(values[key], parameter)
    ]


def _made(values: Mapping[tuple[str, str], Any], measured: tuple[MeasuredRing, ...] | None) -> PlanParameters:
    """Parameters with their parts; a problem in one part does not hide those elsewhere."""
    problems: list[Problem] = []
    whole: dict[str, Any] = _of_part(values, "")
    for part, kind in PARTS.items():
        try:
            whole[part] = kind(**_of_part(values, part))
        except Refused as refused:
            problems += refused.problems
    try:
        parameters = PlanParameters(**whole, measured=measured)
    except Refused as refused:
        raise Refused([*refused.problems, *problems]) from None
    if problems:
        raise Refused(problems)
    return parameters


def _of_part(values: Mapping[tuple[str, str], Any], part: str) -> dict[str, Any]:
    return {field: value for (owner, field), value in values.items() if owner == part}


def write_options(parameters: PlanParameters, system: str = METRIC) -> dict[str, str]:
    """The texts that say these parameters, in metric or imperial; "" where nothing is given.

    ``read_options`` of them gives the parameters back: a length is written with all the digits that takes.
    """
    return {parameter.name: _write(parameters, parameter, system) for parameter in PARAMETERS}


def _write(parameters: PlanParameters, parameter: Parameter, system: str) -> str:
    owner = getattr(parameters, parameter.part) if parameter.part else parameters
    value = getattr(owner, parameter.field)
    return "" if value is None else parameter.kind.write(value, system)
