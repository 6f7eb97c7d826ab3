"""A parameter of a plan: all that is said of it, and how a single number of it is checked."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from buildlog.core.errors import Problem
from buildlog.core.units import show_length
from buildlog.core.wording import Sentence, _


@dataclass(frozen=True, slots=True)
class Group:
    """Parameters that stand together on the form."""

    key: str
    title: str
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Parameter:
    """One row of the table of parameters.

    ``name`` is the option's, on the form, on the command line and in refusals; ``field`` is that of the dataclass and
    in JSON, within ``part`` ("power"; "" = the plan itself). ``least`` and ``most`` are both allowed; lengths are in
    metres, angles in degrees. ``unit`` stands behind the field and the number, ``noun`` begins a refusal. ``hint`` is
    the form's help where it differs from ``help``; ``more`` folds the field away; ``choices`` are value → word.
    """

    kind: Kind
    noun: str = ""
    least: float = -math.inf
    most: float = math.inf
    unit: str = ""
    group: Group | None = None
    label: str = ""
    help: str = ""
    hint: str | None = None
    more: bool = False
    choices: Mapping[str, str] = field(default_factory=dict)
    default: Any = None
    name: str = ""
    field: str = ""
    part: str = ""

    @property
    def form_help(self) -> str:
        return f"{self.help[0].upper()}{self.help[1:]}." if self.hint is None else self.hint

    def show(self, value: float) -> str:
        """The number with its unit, as a refusal says it."""
        return self.kind.show(value, self)


@dataclass(frozen=True, slots=True)
class Kind:
    """What values of one kind have in common: how they are read, written, checked alone, and kept as JSON.

    ``read`` takes a text and the option's name and raises Refused; ``write`` takes a value and the system of units
    (None is written "" before it is asked); ``check`` yields what is wrong with a value.
    """

    key: str
    read: Callable[[str, str], Any]
    check: Callable[[Any, Parameter], Iterator[Problem]]
    write: Callable[[Any, str], str] = lambda value, system: str(value)
    to_json: Callable[[Any], Any] = lambda value: value
    from_json: Callable[[Any], Any] = lambda value: value
    show: Callable[[float, Parameter], str] = lambda value, parameter: show_plain(value, parameter)


def check_count(value: Any, parameter: Parameter) -> Iterator[Problem]:
    """What is wrong with a whole number; None is right where nothing is the default."""
    whole = isinstance(value, int) and not isinstance(value, bool)
    yield from _check(value, parameter, whole, "a whole number")


def check_number(value: Any, parameter: Parameter) -> Iterator[Problem]:
    """What is wrong with a number; None is right where nothing is the default."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    yield from _check(value, parameter, number, "a number")


def check_length(value: Any, parameter: Parameter) -> Iterator[Problem]:
    """As ``check_number``; a length far too long was meant in another unit."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    hint = f" A bare number is metres: was {value:g}mm meant?" if number and value > parameter.most else ""
    yield from _check(value, parameter, number, "a number", hint)


def _check(value: Any, parameter: Parameter, right: bool, kind: str, hint: str = "") -> Iterator[Problem]:
    if value is None and parameter.default is None:
        return
    allowed = Sentence(
        _("allowed: {least} to {most}"),
        least=parameter.show(parameter.least),
        most=parameter.show(parameter.most),
    )
    noun = parameter.noun[0].upper() + parameter.noun[1:]
    if not right:
        yield Problem(
            _("{noun} must be {kind}, not {value!r}; {allowed}."),
            parameter.name,
            noun=noun,
            kind=kind,
            value=value,
            allowed=allowed,
        )
    elif not math.isfinite(value):
        yield Problem(_("{noun} must be {kind}; {allowed}."), parameter.name, noun=noun, kind=kind, allowed=allowed)
    elif not parameter.least <= value <= parameter.most:
        yield Problem(
            _("{noun} is {shown}; {allowed}.{hint}"),
            parameter.name,
            noun=noun,
            shown=parameter.show(value),
            allowed=allowed,
            hint=hint,
        )


def show_plain(value: float, parameter: Parameter) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def show_number(value: float, parameter: Parameter) -> str:
    """A number with its unit, unless the noun says that already ("…, in pixels,")."""
    text = show_plain(value, parameter)
    if not parameter.unit or f"in {parameter.unit}" in parameter.noun:
        return text
    return f"{text}{'' if parameter.unit == '°' else ' '}{parameter.unit}"


def show_metres(value: float, parameter: Parameter) -> str:
    return show_length(value)
