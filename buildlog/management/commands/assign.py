"""`assign --build CODE --from-day-plan`: free segments to those for whom the day plan has them on the coming shift."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from buildlog.actions import handout
from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.questions import handed
from buildlog.core.forecast.questions.assignments import hand_out
from buildlog.core.wording import _, listed
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.models import Build
from buildlog.queries.forecast_input import input_of

SEED = 1
WHAT = {
    "--from-day-plan": "make the day plan and hand out its first day",
    "--undo": "make free again what was handed out like this last",
}


class Command(Asking):
    help = "Hand out the free segments of the coming shift as the day plan suggests, or undo that."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        what = parser.add_mutually_exclusive_group(required=True)
        for option, help in WHAT.items():
            parser.know(what.add_argument(option, action="store_true", help=help))
        parser.add_argument("--helper", metavar="NAME", help="with --from-day-plan: only what this helper gets")
        parser.add_argument("--dry-run", action="store_true", help="with --from-day-plan: say it, change nothing")
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")

    def answer(self, *, build: str, undo: bool, json: bool, **asked: Any) -> None:
        if undo:
            _refuse_beside_undo(**asked)
        target = build_called(build)
        document, lines = _undone(target, **asked) if undo else _handed(target, **asked)
        self.stdout.write(_dump(document) if json else "\n".join(lines))


def _handed(build: Build, *, helper: str | None, dry_run: bool, **rest: Any) -> tuple[dict[str, Any], Iterator[str]]:
    now = timezone.now()
    suggestion = handed.Suggestion(handed.kept(hand_out(input_of(build, now), seed=SEED)))
    if helper is not None and helper not in (names := [name for name, _ in suggestion.helpers]):
        raise Refused(
            Problem(
                _("Nothing is suggested for {helper!r}; there is something for: {names}."),
                "--helper",
                helper=helper,
                names=listed(names) or "nobody",
            )
        )
    given = suggestion.of(helper)
    done = None if dry_run else handout.take(build=build, given=given, by=None, now=now)
    document = {"build": build.code, "dry_run": dry_run, **suggestion.said, "taken": dict(_taken(done)),
                "left": list(done.left) if done else []}  # fmt: skip
    return document, _lines(suggestion, given, done)


def _taken(done: handout.Taken | None) -> dict[str, str]:
    given: dict[str, str] = done.line.detail["given"] if done and done.line else {}
    return given


def _lines(suggestion: handed.Suggestion, given: tuple[handed.Given, ...], done: handout.Taken | None) -> Iterator[str]:
    yield suggestion.sentence
    yield from (f"  {one.helper}  {one.segment} {one.work}" for one in given)
    yield from _came_of(done, "Nothing is changed: this only says what would be handed out.")


def _refuse_beside_undo(*, helper: str | None, dry_run: bool, **rest: Any) -> None:
    given = {"--helper": helper is not None, "--dry-run": dry_run}
    says = _("It goes with --from-day-plan; --undo takes back the whole of what was handed out last. Leave it out.")
    if problems := [Problem(says, option) for option, is_there in given.items() if is_there]:
        raise Refused(problems)


def _undone(build: Build, **rest: Any) -> tuple[dict[str, Any], Iterator[str]]:
    line = handout.last_taken(build)
    if line is None:
        raise Refused(
            Problem(
                _("Nothing is handed out from a day plan here that was not undone: there is nothing to undo."), "--undo"
            )
        )
    done = handout.take_back(build=build, line=line, by=None, now=timezone.now())
    codes = done.line.detail["codes"] if done.line else []
    return {"build": build.code, "free": codes, "left": list(done.left)}, _came_of(done, "")


def _came_of(done: handout.Taken | None, nothing: str) -> Iterator[str]:
    if done is None:
        yield nothing
        return
    yield done.line.says if done.line else "Nothing was changed."
    yield from (f"left as it is: {why}" for why in done.left)


def _dump(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, allow_nan=False)
