"""A scenario: the same build with something changed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.input import ForecastInput, Helper, SegmentInput, ShiftInput
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True)
class Scenario:
    """Any of these at once; what is left out stays as it is.

    ``more``: helpers who are not in the crew, each with their skills and shifts. ``without``: names of helpers who no
    longer come. ``shifts``: more shifts by name. ``people``: limits of people by stage word (None = no limit).
    ``order``: segment codes to be worked on first, in this order. ``rework``: False = no test fails. ``hand_over``:
    True = whoever is there goes on with what others began, and nobody waits for the order. ``target`` [h UTC].
    """

    name: str
    more: tuple[Helper, ...] = ()
    without: frozenset[str] = frozenset()
    shifts: tuple[tuple[str, ShiftInput], ...] = ()
    people: tuple[tuple[str, int | None], ...] = ()
    order: tuple[str, ...] = ()
    rework: bool | None = None
    hand_over: bool = False
    target: float | None = None


def skills_of_all(inputs: ForecastInput) -> frozenset[str]:
    """Every stage, and the jobs that somebody of the crew names: the others can be done by everybody anyway, and one
    who named them would be the only one."""
    named = {skill for helper in inputs.helpers for skill in helper.skills}
    return frozenset(stage.value for stage in STAGES) | {job.name for job in inputs.jobs if job.name in named}


def changed(inputs: ForecastInput, change: Scenario) -> ForecastInput:
    """The input with a change made. Raises Refused for names that are not there."""
    problems = _unknown(inputs, change)
    if problems:
        raise Refused(problems)
    helpers = tuple(_helper(helper, change) for helper in inputs.helpers)
    added = tuple(replace(helper, added=True) for helper in change.more)
    return replace(
        inputs,
        helpers=helpers + added,
        people=_people(inputs, change),
        segments=_ordered(inputs, change),
        rework=inputs.rework if change.rework is None else change.rework,
        keeps=False if change.hand_over else inputs.keeps,
        in_order=False if change.hand_over else inputs.in_order,
        target=inputs.target if change.target is None else change.target,
    )


def _unknown(inputs: ForecastInput, change: Scenario) -> tuple[Problem, ...]:
    names = {helper.name for helper in inputs.helpers}
    stages = {stage.value for stage in STAGES}
    names_lacking = [
        (name, "helper") for name in sorted(change.without | {name for name, _ in change.shifts}) if name not in names
    ]
    names_lacking += [(code, "segment") for code in change.order if code not in inputs.place]
    names_lacking += [(word, "stage") for word, _ in change.people if word not in stages]
    says = _("There is no {what} {name}: choose one that is there.")
    return tuple(Problem(says, what, what=what, name=name) for name, what in names_lacking)


def _helper(helper: Helper, change: Scenario) -> Helper:
    if helper.name in change.without:
        return replace(helper, shifts=())
    own = tuple(shift for name, shift in change.shifts if name == helper.name)
    return replace(helper, shifts=helper.shifts + own) if own else helper


def _people(inputs: ForecastInput, change: Scenario) -> tuple[int | None, ...]:
    limits = dict(zip((stage.value for stage in STAGES), inputs.people, strict=True)) | dict(change.people)
    return tuple(limits[stage.value] for stage in STAGES)


def _ordered(inputs: ForecastInput, change: Scenario) -> tuple[SegmentInput, ...]:
    first = [inputs.segments[inputs.place[code]] for code in dict.fromkeys(change.order)]
    rest = [segment for segment in inputs.segments if segment.code not in set(change.order)]
    return tuple(first + rest)
