"""What stands between a build and its end that no number of trials would tell: said as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.handed import outlasting
from buildlog.core.forecast.world import World
from buildlog.core.work.stages import STAGES


def warnings_of(world: World) -> tuple[str, ...]:
    """Sentences for the lead, most serious first."""
    if world.all_done:
        return ()
    return (
        *_crew(world),
        *_skills(world),
        *_handed(world),
        *_hands(world),
        *_circle(world),
        *_log(world),
        *_target(world),
    )


def _crew(world: World) -> Iterator[str]:
    if not world.helpers:
        yield "There are no helpers yet: enter the crew, then the forecast has a date."
    elif not any(coming(helper, world.as_of) for helper in world.helpers):
        yield "Nobody is down for any shift from now on: enter availability under Crew."


def _skills(world: World) -> Iterator[str]:
    for number, stage in enumerate(STAGES):
        if not world.helpers or world.units_left(number) <= 0:
            continue
        able = [helper for helper in world.helpers if stage.value in helper.skills]
        if not able:
            yield f"Nobody has the skill to {stage.value}, and there is work for it: show somebody how."
        elif not any(coming(helper, world.as_of) for helper in able) and any(
            coming(helper, world.as_of) for helper in world.helpers
        ):
            yield f"Nobody who can {stage.value} is down for a shift from now on: ask one of them to come."
        elif number == 0 and all(helper.populate_limit_h == 0 for helper in able):
            yield "Everybody's populate limit is 0 h a day, and there are pixels to populate: raise it."


def _handed(world: World) -> Iterator[str]:
    for who, (work, shifts) in sorted(outlasting(world).items()):
        name = world.helpers[who].name
        yield (
            f"The segments handed to {name} are about {work:.0f} h of work, and {name} is down for {shifts:.0f} h: the "
            "forecast lets others take them too. Hand some of them out again."
        )


def _hands(world: World) -> Iterator[str]:
    for number, stage in enumerate(STAGES):
        left = [piece for piece in world.pieces if piece.left(number) > 0]
        if not left:
            continue
        most = max(piece.hands[number] for piece in left)
        limit = world.people[number]
        if limit == 0:
            yield f"Nobody may {stage.value}: the limit of people at that stage is 0. Set it to 1 or more."
        elif limit is not None and limit < most:
            yield f"A segment needs {most} helpers to {stage.value}, but only {limit} fit: change one of the two."
        able = sum(stage.value in helper.skills for helper in world.helpers)
        if 0 < able < most:
            yield f"A segment needs {most} helpers to {stage.value}, and {able} can: show one more how."
    for job in world.jobs:
        if not job.done and 0 < len(world.helpers) < job.hands:
            yield f"{job.name} needs {job.hands} helpers, and the crew has {len(world.helpers)}."


def _circle(world: World) -> Iterator[str]:
    """Jobs that wait for each other can never begin."""
    waiting = {job.name: set(job.after) for job in world.jobs if not job.done}
    while True:
        free = [name for name, after in waiting.items() if not after & waiting.keys()]
        if not free:
            break
        for name in free:
            del waiting[name]
    if waiting:
        names = ", ".join(sorted(waiting))
        yield f"These jobs wait for each other and can never begin: {names}. Take one 'after' away."


def _log(world: World) -> Iterator[str]:
    if not any(stint.pixels and stint.confirmed for stint in world.stints):
        yield "Nothing is measured yet: the forecast rests on the standard rates alone."


def _target(world: World) -> Iterator[str]:
    if world.target is not None and world.target < world.as_of:
        yield "The target has passed: set another one."
