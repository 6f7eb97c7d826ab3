"""Reading what came from outside field by field, strictly: the wrong type is refused, never guessed at."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Set
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar
from uuid import UUID

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

Choice = TypeVar("Choice", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class Fields:
    """The fields of one object; ``what`` names it in refusals."""

    what: str
    values: Mapping[str, Any]

    @classmethod
    def of(cls, raw: object, what: str, needed: Set[str], optional: Set[str] = frozenset()) -> Fields:
        """Raises Refused unless ``raw`` is an object with these fields and no others."""
        if not isinstance(raw, dict):
            raise Refused(
                Problem(
                    _("The {what} is {kind}: send an object with {names}."),
                    what=what,
                    kind=_kind(raw),
                    names=_listed(needed),
                )
            )
        if missing := needed - raw.keys():
            raise Refused(Problem(_("The {what} lacks {names}."), what=what, names=_listed(missing)))
        if odd := raw.keys() - needed - optional:
            raise Refused(
                Problem(
                    _("The {what} has {names}, which nobody reads; allowed: {allowed}."),
                    what=what,
                    names=_listed(odd),
                    allowed=_listed(needed | optional),
                )
            )
        return cls(what, raw)

    def whole(self, name: str, least: int, most: int) -> int:
        value = self.values[name]
        if type(value) is not int or not least <= value <= most:
            raise self._refused(name, f"a whole number from {least} to {most}")
        return value

    def optional_whole(self, name: str, least: int, most: int) -> int | None:
        return None if self.values.get(name) is None else self.whole(name, least, most)

    def text(self, name: str, longest: int) -> str:
        """Text of 1…longest characters without control characters, composed (NFC), no spaces around it."""
        value = self.values[name]
        if not isinstance(value, str) or len(value) > 4 * longest:
            raise self._refused(name, f"text of 1 to {longest} characters")
        clean = unicodedata.normalize("NFC", value).strip()
        if not 1 <= len(clean) <= longest:
            raise self._refused(name, f"text of 1 to {longest} characters")
        if any(unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\t" for letter in clean):
            raise self._refused(name, "text without control characters")
        return clean

    def optional_text(self, name: str, longest: int) -> str | None:
        return None if self.values.get(name) in (None, "") else self.text(name, longest)

    def uuid(self, name: str) -> UUID:
        value = self.values[name]
        try:
            read = UUID(value) if isinstance(value, str) else None
        except ValueError:
            read = None
        if read is None or str(read) != value or read.version != 4:
            raise self._refused(name, "a random UUID in lower case with hyphens")
        return read

    def optional_uuid(self, name: str) -> UUID | None:
        return None if self.values.get(name) is None else self.uuid(name)

    def choice(self, name: str, among: type[Choice]) -> Choice:
        value = self.values[name]
        if not isinstance(value, str) or value not in list(among):
            raise self._refused(name, ", ".join(among))
        return among(value)

    def table(self, name: str) -> dict[str, Any]:
        value = self.values[name]
        if not isinstance(value, dict):
            raise self._refused(name, "an object")
        return value

    def listing(self, name: str, most: int) -> list[Any]:
        value = self.values[name]
        if not isinstance(value, list) or len(value) > most:
            raise self._refused(name, f"a list of at most {most}")
        return value

    def _refused(self, name: str, allowed: str) -> Refused:
        return Refused(
            Problem(
                _("The {what} has {name} = {value}; allowed: {allowed}."),
                what=self.what,
                name=name,
                value=_short(self.values.get(name)),
                allowed=allowed,
            )
        )


def _kind(raw: object) -> str:
    names = {type(None): "null", bool: "true or false", list: "a list", str: "text", int: "a number", float: "a number"}
    return names.get(type(raw), "something else")


def _short(value: object) -> str:
    """What was found, short enough for a sentence and safe to store.

    >>> _short("a" * 99), _short([1]), _short(True)
    ("'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa…", 'a list', 'true')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"a list of {len(value)}" if len(value) > 1 else "a list"
    if isinstance(value, dict):
        return "an object"
    shown = ascii(value) if value is not None else "nothing"
    return shown if len(shown) <= 40 else f"{shown[:40]}…"


def _listed(names: Set[str]) -> str:
    shown = sorted(ascii(name)[1:-1][:30] for name in names)
    return ", ".join(shown[:8]) + ("…" if len(shown) > 8 else "")
