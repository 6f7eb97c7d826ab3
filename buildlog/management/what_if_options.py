"""Options that make up what-ifs: those after `--what-if NAME` belong to it, until the next one begins."""

from __future__ import annotations

from argparse import Action, ArgumentParser, Namespace
from collections.abc import Callable
from typing import Any

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.forecast.questions import typed
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.wording import _
from buildlog.forms.what_if import END_OF_DAY, rings_of
from buildlog.management.options import OptionParser
from buildlog.models import Build

NAMELESS = "What if"


class Part(Action):
    """Collects (option, text) below the what-if that is being described."""

    def __call__(self, parser: ArgumentParser, namespace: Namespace, value: Any, option: str | None = None) -> None:
        asked = [*(namespace.asked or [])]
        if option == "--what-if":
            asked.append((value, []))
        else:
            asked = asked or [(NAMELESS, [])]
            asked[-1][1].append((option, value))
        namespace.asked = asked


def add_what_if_options(parser: OptionParser) -> None:
    group = parser.add_argument_group("what if", "several changes at once; --what-if again begins another one")

    def add(option: str, help: str, **more: Any) -> None:
        parser.know(group.add_argument(option, dest="asked", action=Part, help=help, **more))

    add("--what-if", "its name", metavar="NAME")
    add(
        "--more",
        f"helpers who are not in the crew, like “{typed.HANDS_LIKE}”, perhaps “until 2026-05-30”",
        metavar="WHO",
    )
    add("--without", "somebody who leaves", metavar="NAME")
    add("--shift", f"somebody comes more often, like “{typed.SHIFTS_LIKE}”, or on a date", metavar="WHO")
    add("--people", "how many fit at a stage, like wire=3 or test=none", metavar="STAGE=N")
    add("--first-rings", "rings to be worked on first, like 12-20,25", metavar="RINGS")
    add("--no-rework", "no test fails", nargs=0)
    add("--hand-over", "begun segments are handed over to whoever is there", nargs=0)
    add("--target", "another target: a day, or “2026-05-30 18:00”", metavar="WHEN")


def requests_of(asked: list[tuple[str, list[tuple[str, str]]]], build: Build) -> list[WhatIfRequest]:
    """What-ifs as typed. Raises Refused by the options, all problems at once."""
    requests: list[WhatIfRequest] = []
    problems: list[Problem] = []
    for name, parts in asked:
        try:
            requests.append(_request(name, parts, build))
        except Refused as refused:
            problems += refused.problems
    names = [request.name.lower() for request in requests]
    problems += [Problem(_("{name!r} is there twice: give each a name of its own."), "--what-if", name=name)
                 for name in sorted(set(names)) if names.count(name) > 1]  # fmt: skip
    if problems:
        raise Refused(problems)
    return requests


def _request(name: str, parts: list[tuple[str, str]], build: Build) -> WhatIfRequest:
    def of(option: str, read: Callable[[str], Any] = str) -> tuple[Any, ...]:
        return tuple(_read(option, text, read) for name, text in parts if name == option)

    rings = frozenset(build.segments.current().values_list("ring", flat=True))
    first = [ring for text in of("--first-rings") for part in text.split(",")
             for ring in _read("--first-rings", part.strip(), lambda part: rings_of(part, rings))]  # fmt: skip
    targets = of("--target", lambda text: _target(text, build))
    try:
        return WhatIfRequest(
            name=name, more=of("--more", typed.more_hands), without=of("--without"),
            shifts=of("--shift", typed.more_shifts), people=of("--people", typed.people),
            rings=tuple(dict.fromkeys(first)), rework=not of("--no-rework"), hand_over=bool(of("--hand-over")),
            target=targets[-1] if targets else None,
        )  # fmt: skip
    except Refused as refused:
        raise Refused(problem.at(problem.field if problem.field.startswith("--") else "--what-if")
                      for problem in refused.problems) from refused  # fmt: skip


def _target(text: str, build: Build) -> Any:
    whole = text if len(text) > 10 else f"{cells.day(text)} {END_OF_DAY:%H:%M}"
    return cells.moment(whole, build.zone).astimezone(build.zone)


def _read(option: str, text: str, read: Callable[[str], Any]) -> Any:
    try:
        return read(text)
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, option)) from wrong
