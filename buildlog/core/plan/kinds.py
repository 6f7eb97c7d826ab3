"""The kinds of values that parameters of a plan have: lengths, shares, counts, ranges, rings cut by hand…"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameter import (
    Kind,
    Parameter,
    check_count,
    check_length,
    check_number,
    show_metres,
    show_number,
)
from buildlog.core.plan.wiring.wire import wire
from buildlog.core.units import length, write_length
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True, slots=True)
class Offcut:
    """Strap lying around: how long [m] and how many of that length."""

    length_m: float
    quantity: int


def is_count(value: object, least: int) -> bool:
    """Whether it is a whole number that somebody could have counted."""
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= 10_000_000


# ---- numbers ---------------------------------------------------------------------------------


def _read_length(text: str, name: str) -> float:
    return length(text, name, least=0.0)


def _read_count(text: str, name: str) -> int:
    if not re.fullmatch(r"[+-]?\d{1,12}", text):
        raise Refused(Problem(_("“{text}” is not a whole number: write digits only, like 100."), name, text=text))
    return int(text)


def _read_number(text: str, name: str) -> float:
    try:
        return float(text.rstrip("°").strip().replace(",", "."))
    except ValueError:
        raise Refused(Problem(_("“{text}” is not a number: write it like 12.5."), name, text=text)) from None


def _read_share(text: str, name: str) -> float:
    return _read_number(text[:-1], name) / 100 if text.endswith("%") else _read_number(text, name)


LENGTH = Kind("length", _read_length, check_length, write_length, show=show_metres)
COUNT = Kind("count", _read_count, check_count)
NUMBER = Kind("number", _read_number, check_number, show=show_number)
SHARE = Kind("share", _read_share, check_number)


# ---- words -----------------------------------------------------------------------------------


def _read_word(text: str, name: str) -> str:
    return text


def _check_choice(value: Any, parameter: Parameter) -> Iterator[Problem]:
    if value not in tuple(parameter.choices):
        yield Problem(
            _("“{value}” is not known here; allowed: {choices}."),
            parameter.name,
            value=value,
            choices=", ".join(parameter.choices),
        )


def _read_switch(text: str, name: str) -> bool:
    return text.lower() not in ("", "0", "no", "false", "off")


def _check_switch(value: Any, parameter: Parameter) -> Iterator[Problem]:
    if value not in (True, False):
        yield Problem(_("“{value}” is not known here; allowed: True, False."), parameter.name, value=value)


def _write_switch(value: Any, system: str) -> str:
    return "yes" if value else ""


def _check_wire(value: Any, parameter: Parameter) -> Iterator[Problem]:
    try:
        wire(value, parameter.name)
    except Refused as refused:
        yield from refused.problems


CHOICE = Kind("choice", _read_word, _check_choice)
SWITCH = Kind("switch", _read_switch, _check_switch, _write_switch)
WIRE = Kind("wire", _read_word, _check_wire)


# ---- ranges ----------------------------------------------------------------------------------


def _read_range(text: str, name: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,9})(?:\s*[-–]\s*(\d{1,9}))?", text)
    if match is None:
        raise Refused(Problem(_("“{text}” is not a range: write it like 88-90."), name, text=text))
    first, last = match.groups()
    return int(first), int(last or first)


def _check_rings(value: Any, parameter: Parameter) -> Iterator[Problem]:
    if value is None:
        return
    if not (len(value) == 2 and all(is_count(ring, 1) for ring in value) and value[0] <= value[1]):
        yield Problem(_("Closing rings are a range: first ring, last ring, both from 1."), parameter.name)


def _check_bays(value: Any, parameter: Parameter) -> Iterator[Problem]:
    """Bays may run over the first rib, so the last may be below the first."""
    if value is not None and not all(is_count(bay, 1) for bay in value):
        yield Problem(_("Closing bays are a range: first bay, last bay, both from 1."), parameter.name)


def _range(key: str, check: Callable[[Any, Parameter], Iterator[Problem]]) -> Kind:
    return Kind(
        key,
        _read_range,
        check,
        lambda value, system: f"{value[0]}-{value[1]}",
        lambda value: value if value is None else list(value),
        lambda value: None if value is None else (value[0], value[1]),
    )


RING_RANGE = _range("rings", _check_rings)
BAY_RANGE = _range("bays", _check_bays)


# ---- lists -----------------------------------------------------------------------------------


def _read_people(text: str, name: str) -> tuple[tuple[str, int], ...]:
    limits = []
    for part in filter(None, re.split(r"[\s,;]+", text)):
        stage, _, number = part.partition("=")
        limits.append((stage.lower(), _read_count(number, name)))
    return tuple(dict(limits).items())


def _check_people(value: Any, parameter: Parameter) -> Iterator[Problem]:
    for stage, limit in value:
        if stage not in tuple(STAGES):
            yield Problem(
                _("“{stage}” is not a stage; stages: {stages}."), parameter.name, stage=stage, stages=", ".join(STAGES)
            )
        elif isinstance(limit, bool) or not isinstance(limit, int) or limit < 1:
            yield Problem(
                _("{stage}={limit}: write how many people fit, 1 or more."), parameter.name, stage=stage, limit=limit
            )


def _write_people(value: Any, system: str) -> str:
    return " ".join(f"{stage}={number}" for stage, number in value)


def _parts(text: str) -> Iterator[str]:
    return filter(None, (part.strip() for part in re.split(r"[;\n]+", text)))


def _read_hand_pieces(text: str, name: str) -> tuple[tuple[int, tuple[int, ...]], ...]:
    rings = []
    for part in _parts(text):
        ring, colon, pieces = part.partition(":")
        if not colon:
            raise Refused(
                Problem(_("“{part}” is not a ring and its pieces: write it like 12: 50 48 48."), name, part=part)
            )
        counts = tuple(_read_count(piece, name) for piece in re.split(r"[\s,+]+", pieces.strip()) if piece)
        rings.append((_read_count(ring.strip(), name), counts))
    return tuple(dict(rings).items())


def _check_hand_pieces(value: Any, parameter: Parameter) -> Iterator[Problem]:
    for ring, pieces in value:
        if not is_count(ring, 1) or not pieces or not all(is_count(piece, 1) for piece in pieces):
            yield Problem(
                _("Ring {ring}: pieces are whole numbers from 1, such as 50 48 48."), parameter.name, ring=ring
            )


def _write_hand_pieces(value: Any, system: str) -> str:
    return "; ".join(f"{ring}: {' '.join(map(str, pieces))}" for ring, pieces in value)


def _read_offcuts(text: str, name: str) -> tuple[Offcut, ...]:
    offcuts = []
    for part in _parts(text):
        match = re.fullmatch(r"(\d{1,6})\s*[x×*]\s*(.+)", part)
        quantity, size = (_read_count(match[1], name), match[2]) if match else (1, part)
        offcuts.append(Offcut(length(size, name), quantity))
    return tuple(offcuts)


OFFCUT_LENGTH = Parameter(LENGTH, "the length of an offcut", 0.001, 10_000.0, default=0.0, name="offcuts")
OFFCUT_QUANTITY = Parameter(COUNT, "the number of offcuts of one length", 1, 100_000, default=0, name="offcuts")


def _check_offcuts(value: Any, parameter: Parameter) -> Iterator[Problem]:
    for offcut in value:
        yield from check_length(offcut.length_m, OFFCUT_LENGTH)
        yield from check_count(offcut.quantity, OFFCUT_QUANTITY)


def _write_offcuts(value: Any, system: str) -> str:
    return "; ".join(f"{offcut.quantity} x {write_length(offcut.length_m, system)}" for offcut in value)


PEOPLE = Kind(
    "people", _read_people, _check_people, _write_people, to_json=dict, from_json=lambda value: tuple(value.items())
)
HAND_PIECES = Kind(
    "hand pieces",
    _read_hand_pieces,
    _check_hand_pieces,
    _write_hand_pieces,
    lambda value: {str(ring): list(pieces) for ring, pieces in value},
    lambda value: tuple((int(ring), tuple(pieces)) for ring, pieces in value.items()),
)
OFFCUTS = Kind(
    "offcuts",
    _read_offcuts,
    _check_offcuts,
    _write_offcuts,
    lambda value: [{"length_m": offcut.length_m, "quantity": offcut.quantity} for offcut in value],
    lambda value: tuple(Offcut(**offcut) for offcut in value),
)
