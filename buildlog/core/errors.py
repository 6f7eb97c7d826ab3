"""What is said when something given cannot be taken: every problem at once, each with where, what and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that cannot be taken.

    ``what`` is a whole sentence: what was found, what is allowed, what to do next. ``field`` names the form field
    or column it belongs to ("" = the whole), ``row`` the row as a spreadsheet counts it (the header is row 1).
    """

    what: str
    field: str = ""
    row: int | None = None

    def __str__(self) -> str:
        place = [f"row {self.row}"] if self.row is not None else []
        place += [self.field] if self.field else []
        return f"{', '.join(place)}: {self.what}" if place else self.what


class Refused(Exception):
    """Nothing was done; ``problems`` says why, all of them."""

    def __init__(self, problems: Problem | str | Iterable[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem(problems)
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))
