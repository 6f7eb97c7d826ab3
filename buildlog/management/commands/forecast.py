"""`forecast --build CODE`: when the build will be finished, how many labour hours are left; and what if, what would it
take, who does what on which day."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from django.utils import timezone
from msgspec import structs

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.questions.compare import Column, Comparison
from buildlog.core.forecast.questions.day_plan import day_plan
from buildlog.core.forecast.questions.reach_target import what_it_takes
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.forecast.questions.what_if import side_by_side
from buildlog.core.forecast.result.document.coding import printed
from buildlog.core.forecast.result.document.day_plan import DayPlanDocument
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.forecast import forecast
from buildlog.core.forecast.result.sentences import who
from buildlog.core.wording import _, any_of, person_hours
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.management.what_if_options import add_what_if_options, requests_of
from buildlog.models import Build
from buildlog.queries.forecast_input import input_of
from buildlog.words import in_words, say

TRIALS, SEED, PERCENT = 2000, 1, 80
TAKES_TRIALS = 500  # it plays many worlds


class Command(Asking):
    help = "Finish date with its odds, and labour hours left, from the rates measured so far and who comes when."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--as-of", metavar="ISO", help="what was on file by then (a day alone: by its end); "
                            "without it, now")  # fmt: skip
        parser.add_argument("--trials", metavar="N", help=f"trials of a crew at work ({TRIALS}; what it takes: "
                            f"{TAKES_TRIALS})")  # fmt: skip
        parser.add_argument("--seed", default=str(SEED), metavar="N", help=f"where the random numbers begin ({SEED})")
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
        parser.add_argument("--what-it-takes", nargs="?", const=str(PERCENT), metavar="PERCENT",
                            help=f"the least extra person-hours that make the target so sure ({PERCENT})")  # fmt: skip
        parser.add_argument("--day-plan", action="store_true", help="who takes which segments when, as a suggestion")
        parser.add_argument("--day", metavar="DAY", help="of the day plan: one day only")
        parser.add_argument("--helper", metavar="NAME", help="of the day plan: one helper only")
        add_what_if_options(parser)

    def answer(self, *, build: str, as_of: str | None, json: bool, **asked: Any) -> None:
        target = build_called(build)
        moment = _moment(as_of, target)
        _refuse_mixture(asked)
        document, text = _answer(target, input_of(target, moment), **asked)
        if json:
            self.stdout.write(_dump(document))
            return
        if as_of is not None and _is_day(as_of):
            self.stdout.write(f"As of the end of {moment.astimezone(target.zone):%a %Y-%m-%d}.")
        self.stdout.write("\n".join(text))


def _refuse_mixture(asked: dict[str, Any]) -> None:
    options = {"--what-it-takes": asked["what_it_takes"], "--day-plan": asked["day_plan"], "--what-if": asked["asked"]}
    questions = [option for option, value in options.items() if value]
    if len(questions) > 1:
        raise Refused(
            Problem(_("One question at a time: give {options}, not both."), questions[1], options=any_of(questions))
        )
    for option in ("day", "helper"):
        if asked[option] is not None and not asked["day_plan"]:
            raise Refused(Problem(_("This chooses a part of the day plan: give --day-plan too."), f"--{option}"))


def _answer(
    build: Build, inputs: ForecastInput, *, trials: str | None, seed: str, what_it_takes: str | None, day_plan: bool,
    day: str | None, helper: str | None, asked: list[Any] | None, **rest: Any,
) -> tuple[dict[str, Any], Iterator[str]]:  # fmt: skip
    """The document, and the lines that say the same."""
    if day_plan:
        return _planned(inputs, day, helper)
    start = _number(seed, "--seed")
    if what_it_takes is not None:
        return _taken(inputs, what_it_takes, _number(trials or str(TAKES_TRIALS), "--trials"), start)
    number = _number(trials or str(TRIALS), "--trials")
    if asked:
        return _compared(inputs, requests_of(asked, build), number, start)
    document = forecast(inputs, trials=number, seed=start).document()
    return printed(document, in_words), _lines(document)


def _moment(text: str | None, build: Build) -> datetime:
    if text is None:
        return timezone.now()
    try:
        if _is_day(text):
            last = datetime.combine(cells.day(text) + timedelta(days=1), time(), build.zone) - timedelta(minutes=1)
            return last
        return cells.moment(text, build.zone)
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, "--as-of")) from wrong


def _is_day(text: str) -> bool:
    """A day without a time of the clock, written well or not."""
    return len(text) <= 10 and text[:1].isdigit()


def _number(text: str, option: str) -> int:
    try:
        return cells.whole(text, 0, 2**31 - 1)
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, option)) from wrong


def _dump(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, allow_nan=False)


def _lines(document: ForecastDocument) -> Iterator[str]:
    yield in_words(document.sentence)
    yield from (f"warning: {in_words(warning)}" for warning in document.warnings)


# ---- what would it take ---------------------------------------------------------------------


def _taken(inputs: ForecastInput, text: str, trials: int, seed: int) -> tuple[dict[str, Any], Iterator[str]]:
    try:
        percent = cells.decimal(text.removesuffix("%").strip(), 1, 99)
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, "--what-it-takes")) from wrong
    document = what_it_takes(inputs, chance=percent / 100, trials=trials, seed=seed).document()
    extras = (
        f"  {extra.start:%a %Y-%m-%d %H:%M}–{extra.end:%H:%M}  {extra.hands} more, {person_hours(extra.hours)}"
        for extra in document.extras
    )
    steps = (f"  {say(who(step))}, {person_hours(step.hours)}: {step.percent} % sure" for step in document.steps)
    points = f"In {document.trials} trials, a chance is known to ± {document.margin_points} points."
    sure, coming = [points] if document.steps else [], ["They would come:"] if document.extras else []
    return printed(document, in_words), iter([in_words(document.sentence), *steps, *sure, *coming, *extras])


# ---- what if --------------------------------------------------------------------------------


def _compared(
    inputs: ForecastInput, asked: list[WhatIfRequest], trials: int, seed: int
) -> tuple[dict[str, Any], Iterator[str]]:
    scenarios = [request.change(inputs) for request in asked]
    today, *others = (seen.document() for seen in side_by_side(inputs, scenarios, trials=trials, seed=seed))
    columns = [Column(request.name, document.key_figures, today.key_figures)
               for request, document in zip(asked, others, strict=True)]  # fmt: skip
    comparison = Comparison((Column("Today", today.key_figures), *columns))
    answers = [
        {"name": request.name, "changes": list(request.parts), "asked": request.as_json(),
         "forecast": printed(document, in_words)}
        for request, document in zip(asked, others, strict=True)
    ]  # fmt: skip
    document = {"build": inputs.build, "today": printed(today, in_words), "what_ifs": answers}
    return document, _side_by_side(comparison, asked, [today, *others])


def _side_by_side(
    comparison: Comparison, asked: list[WhatIfRequest], documents: list[ForecastDocument]
) -> Iterator[str]:
    changes = ["", *(": " + "; ".join(request.parts) for request in asked)]
    lines = zip(documents, comparison.dates, comparison.work, changes, strict=True)
    for document, line, work, change in lines:
        yield f"{line.name}{change}"
        yield f"  {in_words(document.sentence)}"
        for what, cell in (*line.cells, *((f"  {what}", cell) for what, cell in work.cells[1:])):
            yield f"  {what:<20} {cell.text}{f' ({cell.change})' if cell.change else ''}"


# ---- day plan -------------------------------------------------------------------------------


def _planned(inputs: ForecastInput, day: str | None, helper: str | None) -> tuple[dict[str, Any], Iterator[str]]:
    wanted = _day(day)
    if helper is not None and helper not in (names := [other.name for other in inputs.helpers]):
        raise Refused(
            Problem(
                _("There is no helper {helper!r}; there are: {names}."),
                "--helper",
                helper=helper,
                names=", ".join(names) or "none",
            )
        )
    plan = day_plan(inputs).document()
    part = structs.replace(plan, moves=plan.part(wanted, helper))
    return printed(part, in_words), _turns(part)


def _day(text: str | None) -> date | None:
    try:
        return cells.day(text) if text is not None else None
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, "--day")) from wrong


def _turns(plan: DayPlanDocument) -> Iterator[str]:
    yield "A suggestion: everybody comes as noted, works at their usual rate, and no test fails."
    if not plan.moves:
        yield "Nothing is planned."
    yield in_words(plan.sentence) if plan.sentence else ""
    for day in plan.days():
        yield f"{day.date:%a %Y-%m-%d}"
        for turn in day.turns:
            yield f"  {turn.helper}"
            for task in turn.tasks:
                what = " ".join(part for part in (task.segment, task.work) if part)
                yield f"    {task.start:%H:%M}–{task.end:%H:%M}  {what}{f', {task.amount}' if task.amount else ''}"
