"""What if: the same build with something changed, forecast with the same luck, side by side with today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.input import Helper, Piece, Shift, World
from buildlog.core.forecast.result.forecast import Outlook, outlook
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True)
class Change:
    """Any of these at once; what is left out stays as it is.

    ``more``: helpers who are not in the crew, each with their skills and shifts. ``without``: names of helpers who no
    longer come. ``shifts``: more shifts by name. ``people``: limits of people by stage word (None = no limit).
    ``order``: segment codes to be worked on first, in this order. ``rework``: False = no test fails. ``hand_over``:
    True = whoever is there goes on with what others began, and nobody waits for the order. ``target`` [h UTC].
    """

    name: str
    more: tuple[Helper, ...] = ()
    without: frozenset[str] = frozenset()
    shifts: tuple[tuple[str, Shift], ...] = ()
    people: tuple[tuple[str, int | None], ...] = ()
    order: tuple[str, ...] = ()
    rework: bool | None = None
    hand_over: bool = False
    target: float | None = None


def skills_of_all(world: World) -> frozenset[str]:
    """Every stage, and the jobs that somebody of the crew names: the others can be done by everybody anyway, and one
    who named them would be the only one."""
    named = {skill for helper in world.helpers for skill in helper.skills}
    return frozenset(stage.value for stage in STAGES) | {job.name for job in world.jobs if job.name in named}


def changed(world: World, change: Change) -> World:
    """The world with a change made. Raises Refused for names that are not there."""
    problems = _unknown(world, change)
    if problems:
        raise Refused(problems)
    helpers = tuple(_helper(helper, change) for helper in world.helpers)
    added = tuple(replace(helper, added=True) for helper in change.more)
    return replace(
        world,
        helpers=helpers + added,
        people=_people(world, change),
        pieces=_ordered(world, change),
        rework=world.rework if change.rework is None else change.rework,
        keeps=False if change.hand_over else world.keeps,
        in_order=False if change.hand_over else world.in_order,
        target=world.target if change.target is None else change.target,
    )


def _unknown(world: World, change: Change) -> tuple[Problem, ...]:
    names = {helper.name for helper in world.helpers}
    stages = {stage.value for stage in STAGES}
    found = [
        (name, "helper") for name in sorted(change.without | {name for name, _ in change.shifts}) if name not in names
    ]
    found += [(code, "segment") for code in change.order if code not in world.place]
    found += [(word, "stage") for word, _ in change.people if word not in stages]
    return tuple(Problem(f"There is no {what} {name}: choose one that is there.", what) for name, what in found)


def _helper(helper: Helper, change: Change) -> Helper:
    if helper.name in change.without:
        return replace(helper, shifts=())
    own = tuple(shift for name, shift in change.shifts if name == helper.name)
    return replace(helper, shifts=helper.shifts + own) if own else helper


def _people(world: World, change: Change) -> tuple[int | None, int | None, int | None, int | None]:
    limits = dict(zip((stage.value for stage in STAGES), world.people, strict=True)) | dict(change.people)
    populate, mount, wire, test = (limits[stage.value] for stage in STAGES)
    return populate, mount, wire, test


def _ordered(world: World, change: Change) -> tuple[Piece, ...]:
    first = [world.pieces[world.place[code]] for code in dict.fromkeys(change.order)]
    rest = [piece for piece in world.pieces if piece.code not in set(change.order)]
    return tuple(first + rest)


def side_by_side(world: World, changes: Sequence[Change], *, trials: int, seed: int) -> tuple[Outlook, ...]:
    """Today's outlook, then one for each change, all with the same random numbers."""
    worlds = [world, *(changed(world, change) for change in changes)]
    return tuple(outlook(one, trials=trials, seed=seed) for one in worlds)
