"""What stands between a build and its end that no number of trials would tell: said as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.core.forecast.handed import outlasting
from buildlog.core.forecast.input import World
from buildlog.core.forecast.result.blocks import blocks_of


def warnings_of(world: World) -> tuple[str, ...]:
    """Sentences for the lead, most serious first."""
    if world.all_done:
        return ()
    return (*(block.says for block in blocks_of(world)), *_handed(world), *_log(world), *_target(world))


def _handed(world: World) -> Iterator[str]:
    for who, (work, shifts) in sorted(outlasting(world).items()):
        name = world.helpers[who].name
        yield (
            f"The segments handed to {name} are about {work:.0f} h of work, and {name} is down for {shifts:.0f} h: the "
            "forecast lets others take them too. Hand some of them out again."
        )


def _log(world: World) -> Iterator[str]:
    if not any(stint.pixels and stint.confirmed for stint in world.stints):
        yield "Nothing is measured yet: the forecast rests on the standard rates alone."


def _target(world: World) -> Iterator[str]:
    if world.target is not None and world.target < world.as_of:
        yield "The target has passed: set another one."
