"""`forecast --build CODE`: when the build will be finished and how many labour hours are left."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.utils import timezone

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.outlook import Outlook, outlook
from buildlog.management.asking import Asking, build_called
from buildlog.models import Build
from buildlog.queries.world import world_of

TRIALS, SEED = 2000, 1


class Command(Asking):
    help = "Finish date with its odds, and labour hours left, from the rates measured so far and who comes when."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--as-of", metavar="ISO", help="what was on file by then; without it, now")
        parser.add_argument("--trials", default=str(TRIALS), metavar="N", help=f"trials of a crew at work ({TRIALS})")
        parser.add_argument("--seed", default=str(SEED), metavar="N", help=f"where the random numbers begin ({SEED})")
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")

    def answer(self, *, build: str, as_of: str | None, trials: str, seed: str, json: bool, **rest: Any) -> None:
        target = build_called(build)
        world = world_of(target, _moment(as_of, target))
        found = outlook(world, trials=_number(trials, "--trials"), seed=_number(seed, "--seed"))
        self.stdout.write(_as_json(found) if json else _as_text(found))


def _moment(text: str | None, build: Build) -> datetime:
    if text is None:
        return timezone.now()
    try:
        return cells.moment(text, build.zone)
    except ValueError as wrong:
        raise Refused(Problem(str(wrong), "--as-of")) from wrong


def _number(text: str, option: str) -> int:
    try:
        return cells.whole(text, 0, 2**31 - 1)
    except ValueError as wrong:
        raise Refused(Problem(str(wrong), option)) from wrong


def _as_json(found: Outlook) -> str:
    return json.dumps(found.as_json(), ensure_ascii=False, allow_nan=False)


def _as_text(found: Outlook) -> str:
    return "\n".join([found.sentence, *(f"warning: {warning}" for warning in found.as_json()["warnings"])])
