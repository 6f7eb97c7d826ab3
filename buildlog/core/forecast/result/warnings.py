"""What stands between a build and its end that no number of trials would tell.

Blocks stop it for good as things stand: work that is left and that nobody can ever do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from buildlog.core.forecast.calendar import overassigned, shifts_to_come
from buildlog.core.forecast.input import ForecastInput, Helper, JobInput
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.work.stages import POPULATE, STAGES

NOBODY_THERE = frozenset({"no_helpers", "no_shifts"})  # the crew is never there
# Somebody else who can do everything, there when the crew is, would not undo these.
HANDS_DO_NOT_HELP = NOBODY_THERE | {"no_room", "too_little_room", "jobs_in_a_circle"}


def warnings_of(inputs: ForecastInput) -> tuple[Fact, ...]:
    """Facts for the lead, most serious first."""
    if inputs.all_done:
        return ()
    return (*blocks_of(inputs), *_assigned(inputs), *_log(inputs), *_target(inputs))


def _assigned(inputs: ForecastInput) -> Iterator[Fact]:
    for who, (work, shifts) in sorted(overassigned(inputs).items()):
        yield Fact("assigned_too_much", {"name": inputs.helpers[who].name, "work": work, "shifts": shifts})


def _log(inputs: ForecastInput) -> Iterator[Fact]:
    if not any(stint.pixels and stint.confirmed for stint in inputs.stints):
        yield Fact("nothing_measured")


def _target(inputs: ForecastInput) -> Iterator[Fact]:
    if inputs.target is not None and inputs.target < inputs.as_of:
        yield Fact("target_passed")


def blocks_of(inputs: ForecastInput) -> tuple[Fact, ...]:
    """All reasons, the most serious first; none once everything is done."""
    if inputs.all_done:
        return ()
    crew = tuple(_crew(inputs))
    return (*crew, *_skills(inputs), *_limits(inputs), *(() if crew else _together(inputs)), *_circle(inputs))


def _crew(inputs: ForecastInput) -> Iterator[Fact]:
    if not inputs.helpers:
        yield Fact("no_helpers")
    elif not any(shifts_to_come(helper, inputs.as_of) for helper in inputs.helpers):
        yield Fact("no_shifts")


def _skills(inputs: ForecastInput) -> Iterator[Fact]:
    left = [stage.value for number, stage in enumerate(STAGES) if inputs.units_left(number) > 0]
    lacking = [stage for stage in left if not _able(inputs, stage)]
    if inputs.helpers and lacking:
        yield Fact("no_skill", {"stages": lacking})
    pushers = _able(inputs, STAGES[POPULATE].value)
    if inputs.units_left(POPULATE) > 0 and pushers and all(helper.populate_limit_h == 0 for helper in pushers):
        yield Fact("no_populating")


def _limits(inputs: ForecastInput) -> Iterator[Fact]:
    for number, stage in enumerate(STAGES):
        most, limit = _hands(inputs, number), inputs.people[number]
        if not most or limit is None or limit >= most:
            continue
        if limit == 0:
            yield Fact("no_room", {"stage": stage.value})
        else:
            yield Fact("too_little_room", {"stage": stage.value, "needed": most, "limit": limit})


def _together(inputs: ForecastInput) -> Iterator[Fact]:
    """Those who can do something, but never so many of them at once as it takes."""
    for number, stage in enumerate(STAGES):
        most, limit = _hands(inputs, number), inputs.people[number]
        if most and (limit is None or limit >= most):
            yield from _too_few(inputs, _able(inputs, stage.value), most, {"stage": stage.value, "job": None})
    for job in inputs.jobs:
        if not job.done:
            yield from _too_few(inputs, _able_for(inputs, job), job.hands, {"stage": None, "job": job.name})


def _too_few(
    inputs: ForecastInput, able: Sequence[Helper], most: int, work: Mapping[str, str | None]
) -> Iterator[Fact]:
    there = [helper for helper in able if shifts_to_come(helper, inputs.as_of)]
    if not able or _at_once(there, inputs.as_of) >= most:
        return
    if len(able) < most:
        yield Fact("too_few_able", {"needed": most, "able": len(able), **work})
    elif not there:
        yield Fact("nobody_able_comes", {**work})
    else:
        yield Fact("never_at_once", {"needed": most, **work})


def _at_once(helpers: Sequence[Helper], as_of: float) -> int:
    """The most of them who are there at one moment."""
    shifts = [shift for helper in helpers for shift in shifts_to_come(helper, as_of)]
    moves = sorted([(shift.start, 1) for shift in shifts] + [(shift.end, -1) for shift in shifts])
    most = there = 0
    for _, step in moves:  # who leaves at a moment is gone before somebody comes
        there += step
        most = max(most, there)
    return most


def _circle(inputs: ForecastInput) -> Iterator[Fact]:
    """Jobs that wait for each other can never begin."""
    waiting = {job.name: set(job.after) for job in inputs.jobs if not job.done}
    while free := [name for name, after in waiting.items() if not after & waiting.keys()]:
        for name in free:
            del waiting[name]
    if waiting:
        yield Fact("jobs_in_a_circle", {"jobs": sorted(waiting)})


def _able(inputs: ForecastInput, word: str) -> list[Helper]:
    return [helper for helper in inputs.helpers if word in helper.skills]


def _able_for(inputs: ForecastInput, job: JobInput) -> list[Helper]:
    """Those who name it among their skills; everybody where nobody does."""
    return _able(inputs, job.name) or list(inputs.helpers)


def _hands(inputs: ForecastInput, stage: int) -> int:
    """How many a segment takes at once at a stage, of what is left (0: nothing is left)."""
    return max((segment.hands[stage] for segment in inputs.segments if segment.left(stage) > 0), default=0)
