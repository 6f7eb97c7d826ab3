"""`assign --build CODE --from-day-plan`: free segments to those for whom the day plan has them on the coming shift."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from buildlog.actions import assignments
from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.questions.assignments import assign
from buildlog.core.forecast.result.document.assignments import Assignment, AssignmentsDocument
from buildlog.core.forecast.result.document.coding import printed
from buildlog.core.wording import _, all_of
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.models import Build
from buildlog.queries.forecast_input import input_of
from buildlog.words import in_words

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
        document, lines = _undone(target, **asked) if undo else _assigned(target, **asked)
        self.stdout.write(_dump(document) if json else "\n".join(lines))


def _assigned(build: Build, *, helper: str | None, dry_run: bool, **rest: Any) -> tuple[dict[str, Any], Iterator[str]]:
    now = timezone.now()
    suggestion = assign(input_of(build, now), seed=SEED).document()
    if helper is not None and helper not in (names := [name for name, _ in suggestion.helpers]):
        raise Refused(
            Problem(
                _("Nothing is suggested for {helper!r}; there is something for: {names}."),
                "--helper",
                helper=helper,
                names=all_of(names or ["nobody"]),
            )
        )
    chosen = suggestion.of(helper)
    done = None if dry_run else assignments.take(build=build, assignments=chosen, by=None, now=now)
    document = {"build": build.code, "dry_run": dry_run, **printed(suggestion, in_words), "taken": dict(_taken(done)),
                "left": list(done.left) if done else []}  # fmt: skip
    return document, _lines(suggestion, chosen, done)


def _taken(done: assignments.Taken | None) -> dict[str, str]:
    owners: dict[str, str] = done.line.detail["given"] if done and done.line else {}
    return owners


def _lines(
    suggestion: AssignmentsDocument, chosen: tuple[Assignment, ...], done: assignments.Taken | None
) -> Iterator[str]:
    yield in_words(suggestion.sentence)
    yield from (f"  {each.helper}  {each.segment} {each.work}" for each in chosen)
    yield from _came_of(done, "Nothing is changed: this only says what would be handed out.")


def _refuse_beside_undo(*, helper: str | None, dry_run: bool, **rest: Any) -> None:
    options = {"--helper": helper is not None, "--dry-run": dry_run}
    says = _("It goes with --from-day-plan; --undo takes back the whole of what was handed out last. Leave it out.")
    if problems := [Problem(says, option) for option, is_there in options.items() if is_there]:
        raise Refused(problems)


def _undone(build: Build, **rest: Any) -> tuple[dict[str, Any], Iterator[str]]:
    line = assignments.last_taken(build)
    if line is None:
        raise Refused(
            Problem(
                _("Nothing is handed out from a day plan here that was not undone: there is nothing to undo."), "--undo"
            )
        )
    done = assignments.take_back(build=build, line=line, by=None, now=timezone.now())
    codes = done.line.detail["codes"] if done.line else []
    return {"build": build.code, "free": codes, "left": list(done.left)}, _came_of(done, "")


def _came_of(done: assignments.Taken | None, nothing: str) -> Iterator[str]:
    if done is None:
        yield nothing
        return
    yield done.line.says if done.line else "Nothing was changed."
    yield from (f"left as it is: {why}" for why in done.left)


def _dump(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, allow_nan=False)
