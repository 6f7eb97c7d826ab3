"""Documents as they are stored and printed: typed structs made of plain data, and plain data of them.

The only module that codes. What does not fit is refused with the path at which it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, TypeVar

import msgspec

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.calendar import iso
from buildlog.core.wording import _

Coded = TypeVar("Coded")
Values = dict[str, str | int | float | bool | list[str] | None]


class Moment(datetime):
    """A moment as documents hold it: ISO 8601 to the minute, with the offset of the build's own zone."""


class Fact(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a sentence says, without its words: a code, its values, and other facts that it names."""

    code: str
    values: Values = {}
    parts: tuple[Fact, ...] = ()


WRITTEN = "written"  # a sentence that an earlier release stored in words


def moment(hours: float, time_zone: str) -> Moment:
    """[h UTC] as documents hold it."""
    return Moment.fromisoformat(iso(hours, time_zone))


def moment_or_none(hours: float | None, time_zone: str) -> Moment | None:
    return None if hours is None else moment(hours, time_zone)


def encode(document: msgspec.Struct) -> dict[str, Any]:
    """Plain data to store."""
    coded: dict[str, Any] = msgspec.to_builtins(document, str_keys=True, enc_hook=_plain)
    return coded


def decode(kind: type[Coded], stored: Any) -> Coded:
    """A document of plain data, of earlier releases too. Raises Refused with the path of what does not fit."""
    try:
        return msgspec.convert(of_earlier(stored), kind, str_keys=True, dec_hook=_typed)
    except msgspec.ValidationError as wrong:
        what, _at, path = str(wrong).partition(" - at ")
        problem = Problem(_("A stored forecast cannot be read: {what}."), path.strip("`"), what=what.replace("`", ""))
        raise Refused(problem) from wrong


def printed(document: msgspec.Struct, words: Callable[[Fact], str]) -> dict[str, Any]:
    """Plain data to print: the facts in words."""
    spoken: dict[str, Any] = _in_words(encode(document), words)
    return spoken


def of_earlier(stored: Any) -> Any:
    """The shape of today from that of any release: sentences were stored in words, and a few numbers came later."""
    if not isinstance(stored, Mapping):
        return stored
    shape = dict(stored)
    if isinstance(shape.get("sentence"), str):
        shape["sentence"] = _written(shape["sentence"])
    if isinstance(shape.get("warnings"), list):
        shape["warnings"] = [_written(words) if isinstance(words, str) else words for words in shape["warnings"]]
    if "rates" in shape:
        shape.setdefault("missing_hours", 0.0)
    return shape | {name: of_earlier(shape[name]) for name in ("report", "handout") if name in shape}


def _written(words: str) -> dict[str, Any]:
    return {"code": WRITTEN, "values": {"words": words}}


def _in_words(plain: Any, words: Callable[[Fact], str]) -> Any:
    if isinstance(plain, dict):
        if "code" in plain and plain.keys() <= {"code", "values", "parts"}:
            return words(decode(Fact, plain))
        return {name: _in_words(value, words) for name, value in plain.items()}
    return [_in_words(value, words) for value in plain] if isinstance(plain, list | tuple) else plain


def _plain(value: Any) -> str:
    if isinstance(value, Moment):
        return value.isoformat(timespec="minutes")
    raise NotImplementedError(f"{type(value)} is no part of a document")


def _typed(kind: type, value: Any) -> Any:
    if kind is Moment:
        return Moment.fromisoformat(value)
    raise NotImplementedError(f"{kind} is no part of a document")
