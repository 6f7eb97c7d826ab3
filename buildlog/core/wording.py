"""Sentences as templates and values, and numbers and lists in them.

A sentence is kept apart from its values until it is shown, so that the edge can look its template up in another
language (GNU gettext's own way: gettext manual, section 4.3, "Preparing Strings"). The core only marks templates.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

Translate = Callable[[str], str]
TranslateCount = Callable[[str, str, int], str]


def _(template: str) -> str:
    """Marks a template for translation; it comes back as it is."""
    return template


@dataclass(frozen=True, slots=True)
class Count:
    """A number of things in a sentence, by the plural rules of its language; both templates have ``{number}``.

    >>> str(Count(1, "{number} fault", "{number} faults")), str(Count(1200, "{number} fault", "{number} faults"))
    ('1 fault', '1,200 faults')
    """

    number: int
    one: str
    many: str

    def said(self, count: TranslateCount) -> str:
        """By the plural rules of a language."""
        return count(self.one, self.many, self.number).format(number=f"{self.number:,}")

    def __str__(self) -> str:
        return self.said(lambda one, many, number: one if number == 1 else many)


@dataclass(frozen=True, slots=True, init=False)
class Sentence:
    """A template in the manner of ``str.format`` and what fills it: numbers, texts, counts, other sentences.

    >>> str(Sentence("{what} of {code}.", what=Sentence("Nothing"), code="R1-1"))
    'Nothing of R1-1.'
    """

    template: str
    values: Mapping[str, object]

    def __init__(self, template: str, /, **values: object) -> None:
        object.__setattr__(self, "template", template)  # the class is frozen
        object.__setattr__(self, "values", values)

    def said(self, translate: Translate, count: TranslateCount) -> str:
        """In the language of ``translate`` (gettext) and ``count`` (ngettext)."""
        values = {name: _spoken(value, translate, count) for name, value in self.values.items()}
        # Without values the text is nobody's template: braces in it stay as they are.
        return translate(self.template).format(**values) if values else translate(self.template)

    def __str__(self) -> str:
        return self.said(str, lambda one, many, number: one if number == 1 else many)


@dataclass(frozen=True, slots=True)
class Sentences:
    """Several, one after the other, ``between`` them.

    >>> str(Sentences((Sentence("a"), Sentence("b"))))
    'a; b'
    """

    each: Sequence[Sentence]
    between: str = "; "

    def said(self, translate: Translate, count: TranslateCount) -> str:
        """In the language of ``translate`` and ``count``."""
        return self.between.join(sentence.said(translate, count) for sentence in self.each)

    def __str__(self) -> str:
        return self.between.join(map(str, self.each))


@dataclass(frozen=True, slots=True)
class Listing:
    """Names or sentences one after the other; ``last`` is how the last one follows, "" = as the others do.

    >>> str(all_of(["Sat", "Sun"])), str(any_of(["a", "b", "c"])), str(Listing(["a", "b"])), str(all_of([]))
    ('Sat and Sun', 'a, b or c', 'a, b', '')
    """

    each: Sequence[object]
    last: str = ""

    def said(self, translate: Translate, count: TranslateCount) -> str:
        """In the language of ``translate`` and ``count``."""
        shown = [str(_spoken(value, translate, count)) for value in self.each]
        if not self.last or len(shown) < 2:
            return ", ".join(shown)
        return translate(self.last).format(others=", ".join(shown[:-1]), last=shown[-1])

    def __str__(self) -> str:
        return self.said(str, lambda one, many, number: one if number == 1 else many)


def all_of(each: Sequence[object]) -> Listing:
    """Every one of them: a, b and c."""
    return Listing(each, _("{others} and {last}"))


def any_of(each: Sequence[object]) -> Listing:
    """One of them, whichever: a, b or c."""
    return Listing(each, _("{others} or {last}"))


def _spoken(value: object, translate: Translate, count: TranslateCount) -> object:
    if isinstance(value, Sentence | Sentences | Listing):
        return value.said(translate, count)
    return value.said(count) if isinstance(value, Count) else value


def counted(number: int, word: str) -> str:
    """A count in groups of three with its word, one or several.

    >>> counted(12480, "pixel"), counted(1, "person-hour")
    ('12,480 pixels', '1 person-hour')
    """
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"


def person_hours(hours: float) -> str:
    """Whole person-hours, rounded up: what is missing is never said too small.

    >>> person_hours(0.4), person_hours(17.2)
    ('1 person-hour', '18 person-hours')
    """
    return str(whole_person_hours(hours))


def whole_person_hours(hours: float) -> Count:
    """The same, to be said in a sentence."""
    return Count(math.ceil(hours - 1e-9), _("{number} person-hour"), _("{number} person-hours"))


def percent_below(share: float) -> int:
    """Whole points, rounded down: 79.8 % is not 80 % sure.

    >>> percent_below(0.798), percent_below(0.8)
    (79, 80)
    """
    return math.floor(100 * share + 1e-9)


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words one after the other, as people say them.

    >>> listed(["Sat", "Sun"]), listed(["a", "b", "c"]), listed([])
    ('Sat and Sun', 'a, b and c', '')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
