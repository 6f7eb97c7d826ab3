"""What can hurt somebody at each stage, said where the work is.

Common sense in general words. Local codes and licensed people decide; this informs.
"""

from __future__ import annotations

from collections.abc import Mapping

from buildlog.core.work.stages import Stage

INSIDE = (
    "Power off, locked off and checked dead before anybody reaches inside. One person inside at a time, one outside "
    "who knows. Mains is a licensed person's work; local rules decide."
)
LADDER = "Ladder on firm ground and held by somebody. Nobody stands under the work. Do not lean or climb on the ball."
POWER_ON = "Nobody inside while power is on. Say it aloud before switching on. Keep sockets and plugs dry."

CAUTIONS: Mapping[str, tuple[str, ...]] = {
    Stage.POPULATE: ("Push with a tool or a gloved thumb, and change hands: blisters come before pain does.",),
    Stage.MOUNT: (LADDER, "The ball is heavy and can tip or roll: wedge it before anybody pulls on it."),
    Stage.WIRE: (INSIDE, LADDER),
    Stage.TEST: (POWER_ON, LADDER),
}
CLOSING = "This piece closes the way in: nobody inside, tools out, power isolated before it goes on."


def cautions(stage: Stage | None, closing: bool = False) -> tuple[str, ...]:
    """The sentences for work at this stage; none for a job that we know nothing about."""
    said = CAUTIONS.get(stage, ()) if stage else ()
    return (CLOSING, *said) if closing and stage is Stage.MOUNT else said
