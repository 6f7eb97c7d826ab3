"""What stops a build for good as things stand: work that is left and that nobody can ever do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.input import ForecastInput, Helper, JobInput
from buildlog.core.wording import listed
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True, slots=True)
class Block:
    """One reason. ``phrase`` goes into a sentence, ``says`` is one of its own with what to do.

    ``hands_help``: somebody else who can do everything, there when the crew is, would undo it. ``nobody_there``: the
    crew is never there.
    """

    phrase: str
    says: str
    hands_help: bool = True
    nobody_there: bool = False


def blocks_of(inputs: ForecastInput) -> tuple[Block, ...]:
    """All reasons, the most serious first; none once everything is done."""
    if inputs.all_done:
        return ()
    crew = tuple(_crew(inputs))
    return (*crew, *_skills(inputs), *_limits(inputs), *(() if crew else _together(inputs)), *_circle(inputs))


def _crew(inputs: ForecastInput) -> Iterator[Block]:
    if not inputs.helpers:
        says = "There are no helpers yet: enter the crew, then the forecast has a date."
        yield Block("there are no helpers yet", says, hands_help=False, nobody_there=True)
    elif not any(coming(helper, inputs.as_of) for helper in inputs.helpers):
        says = "Nobody is down for any shift from now on: enter availability under Crew."
        yield Block("nobody has said when they can come", says, hands_help=False, nobody_there=True)


def _skills(inputs: ForecastInput) -> Iterator[Block]:
    left = [(number, stage.value) for number, stage in enumerate(STAGES) if inputs.units_left(number) > 0]
    lacking = [word for _, word in left if not _able(inputs, word)]
    if inputs.helpers and lacking:
        what = listed(lacking, "or")
        says = f"Nobody has the skill to {what}, and there is work for it: show somebody how."
        yield Block(f"nobody has the skill to {what}", says)
    pushers = _able(inputs, STAGES[0].value)
    if inputs.units_left(0) > 0 and pushers and all(helper.populate_limit_h == 0 for helper in pushers):
        says = "Everybody's populate limit is 0 h a day, and there are pixels to populate: raise it under Crew."
        yield Block("nobody may populate, everybody's limit being 0 h a day", says)


def _limits(inputs: ForecastInput) -> Iterator[Block]:
    for number, stage in enumerate(STAGES):
        most, limit = _hands(inputs, number), inputs.people[number]
        if not most or limit is None or limit >= most:
            continue
        if limit == 0:
            says = f"Nobody may {stage.value}: the limit of people at that stage is 0. Set it to 1 or more."
            yield Block(f"nobody may {stage.value}, the limit of people there being 0", says, hands_help=False)
        else:
            says = f"A segment needs {most} helpers to {stage.value}, but only {limit} fit: change one of the two."
            yield Block(f"it takes {most} to {stage.value} and only {limit} fit", says, hands_help=False)


def _together(inputs: ForecastInput) -> Iterator[Block]:
    """Those who can do something, but never so many of them at once as it takes."""
    for number, stage in enumerate(STAGES):
        most, limit = _hands(inputs, number), inputs.people[number]
        if most and (limit is None or limit >= most):
            yield from _too_few(inputs, _able(inputs, stage.value), most, stage.value, f"A segment needs {most}")
    for job in inputs.jobs:
        if not job.done:
            yield from _too_few(
                inputs, _able_for(inputs, job), job.hands, f"do {job.name}", f"{job.name} needs {job.hands}"
            )


def _too_few(inputs: ForecastInput, able: Sequence[Helper], most: int, verb: str, needs: str) -> Iterator[Block]:
    there = [helper for helper in able if coming(helper, inputs.as_of)]
    if not able or _at_once(there, inputs.as_of) >= most:
        return
    if len(able) < most:
        says = f"{needs} helpers to {verb}, and {len(able)} can: show one more how."
    elif not there:
        says = f"Nobody who can {verb} is down for a shift from now on: ask one of them to come."
        yield Block(f"nobody who can {verb} is down for a shift", says)
        return
    else:
        says = (
            f"{needs} helpers to {verb}, and never so many of those who can are there at once: add shifts under Crew."
        )
    yield Block(f"it takes {most} to {verb}, and never so many who can are there at once", says)


def _at_once(helpers: Sequence[Helper], as_of: float) -> int:
    """The most of them who are there at one moment."""
    shifts = [shift for helper in helpers for shift in coming(helper, as_of)]
    moves = sorted([(shift.start, 1) for shift in shifts] + [(shift.end, -1) for shift in shifts])
    most = there = 0
    for _, step in moves:  # who leaves at a moment is gone before somebody comes
        there += step
        most = max(most, there)
    return most


def _circle(inputs: ForecastInput) -> Iterator[Block]:
    """Jobs that wait for each other can never begin."""
    waiting = {job.name: set(job.after) for job in inputs.jobs if not job.done}
    while free := [name for name, after in waiting.items() if not after & waiting.keys()]:
        for name in free:
            del waiting[name]
    if waiting:
        names = sorted(waiting)
        says = f"These jobs wait for each other and can never begin: {', '.join(names)}. Take one 'after' away."
        yield Block(f"{listed(names)} wait for each other", says, hands_help=False)


def _able(inputs: ForecastInput, word: str) -> list[Helper]:
    return [helper for helper in inputs.helpers if word in helper.skills]


def _able_for(inputs: ForecastInput, job: JobInput) -> list[Helper]:
    """Those who name it among their skills; everybody where nobody does."""
    return _able(inputs, job.name) or list(inputs.helpers)


def _hands(inputs: ForecastInput, stage: int) -> int:
    """How many a segment takes at once at a stage, of what is left (0: nothing is left)."""
    return max((segment.hands[stage] for segment in inputs.segments if segment.left(stage) > 0), default=0)
