"""What is said when something cannot be taken: every problem at once, each with where, what and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildlog.core.wording import Sentence


@dataclass(frozen=True, slots=True, init=False)
class Problem:
    """One thing that cannot be taken.

    ``sentence`` is a whole one: what was found, what is allowed, what to do next. It is a template with its values, so
    that the edge can say it in another language. ``field`` names the form field or column it belongs to ("" = the
    whole), ``row`` the row as a spreadsheet counts it (the header is row 1).

    >>> str(Problem("{code} has {passed} of {pixels} populated.", "pixels", 3, code="R12-3", passed=5, pixels=83))
    'row 3, pixels: R12-3 has 5 of 83 populated.'
    """

    sentence: Sentence
    field: str
    row: int | None

    def __init__(self, says: str | Sentence, field: str = "", row: int | None = None, /, **values: object) -> None:
        set_once = object.__setattr__  # the class is frozen
        set_once(self, "sentence", says if isinstance(says, Sentence) else Sentence(says, **values))
        set_once(self, "field", field)
        set_once(self, "row", row)

    def at(self, field: str | None = None, row: int | None = None) -> Problem:
        """The same problem, said of another field or row."""
        return Problem(self.sentence, self.field if field is None else field, self.row if row is None else row)

    @property
    def what(self) -> str:
        """The sentence as it is written here, not translated."""
        return str(self.sentence)

    @property
    def where(self) -> str:
        """Row and field, "" for the whole."""
        return ", ".join(([f"row {self.row}"] if self.row is not None else []) + ([self.field] if self.field else []))

    def __str__(self) -> str:
        return f"{self.where}: {self.what}" if self.where else self.what


class Refused(Exception):
    """Nothing was done; ``problems`` says why, all of them."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))


class Busy(Exception):
    """Nothing was looked at, because too much is under way: try again after so many seconds."""

    def __init__(self, sentence: Sentence, *, retry_after_s: int) -> None:
        self.sentence = sentence
        self.retry_after_s = retry_after_s
        super().__init__(str(sentence))


class Unreadable(ValueError):
    """A text that cannot be read as what it should be; ``sentence`` belongs beside it."""

    def __init__(self, template: str | Sentence, /, **values: object) -> None:
        self.sentence = template if isinstance(template, Sentence) else Sentence(template, **values)
        super().__init__(str(self.sentence))
