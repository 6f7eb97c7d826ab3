"""What would it take: the least extra person-hours that bring a target to a chosen probability."""

from __future__ import annotations

import math
from dataclasses import dataclass

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.outlook import Outlook, day_text, outlook
from buildlog.core.forecast.whatif import Change, changed
from buildlog.core.forecast.world import Helper, Shift, World
from buildlog.core.work.stages import STAGES

MOST_EXTRA = 8  # helpers at a time
STEPS = 9  # halvings between enough and not enough


@dataclass(frozen=True)
class Takes:
    """``hours`` extra person-hours, from now to the target, by helpers at the same times as the crew; ``shifts`` are
    theirs, the earliest first; ``seen`` is the outlook with them; ``enough`` says whether that reaches the chance.
    ``hand_over``: begun segments must be handed over too, or no number of hands is enough."""

    hours: float
    helpers: int
    shifts: tuple[tuple[Shift, ...], ...]
    chance: float
    seen: Outlook
    enough: bool
    hand_over: bool = False

    @property
    def probability(self) -> float:
        target = self.seen.world.target
        return self.seen.chance_by(target) if target is not None else 0.0

    @property
    def sentence(self) -> str:
        target, zone = self.seen.world.target or 0.0, self.seen.world.time_zone
        day, sure = day_text(target, zone), round(100 * self.probability)
        if not self.enough:
            return (
                f"No number of extra hands up to {MOST_EXTRA} at a time brings {day} to {round(100 * self.chance)} %: "
                f"with {math.ceil(self.hours)} person-hours more it is {sure} %. Move the target, or add days."
            )
        over = " if begun segments are handed over to whoever is there" if self.hand_over else ""
        if self.hours <= 0:
            return f"Nothing more is needed: {day} is {sure} % sure{over}."
        who = "one more helper" if self.helpers == 1 else f"{self.helpers} more helpers"
        return f"{math.ceil(self.hours)} person-hours more by {day}, from {who}, make it {sure} % sure{over}."


def what_it_takes(world: World, *, chance: float = 0.8, trials: int, seed: int) -> Takes:
    """Search the least extra hours: whole layers of one more helper first, then part of the last layer.

    Raises Refused without a target, with one that has passed, and for a chance that is not between 0 and 1.
    """
    if world.target is None or world.target <= world.as_of:
        raise Refused(Problem("There is no target to come: set one, then ask what it would take.", "target"))
    if not 0 < chance < 1:
        raise Refused(Problem(f"Found a chance of {chance:g}: give one between 0 and 1, 0.8 is usual.", "chance"))
    found = _search(world, False, chance, trials, seed)
    if found.enough:
        return found
    handed = _search(world, True, chance, trials, seed)
    return handed if handed.enough else found


def _search(world: World, hand_over: bool, chance: float, trials: int, seed: int) -> Takes:
    spells = _spells(world)
    layer = sum(shift.end - shift.start for shift in spells)

    def tried(hours: float) -> Takes:
        return _try(world, _layers(spells, hours), hand_over, chance, trials, seed)

    found, low, high = tried(0.0), 0.0, 0.0
    while not found.enough and layer > 0 and high < MOST_EXTRA * layer:
        low, high = high, high + layer
        found = tried(high)
    for _ in range(STEPS if found.enough and high > 0 else 0):
        middle = (low + high) / 2
        less = tried(middle)
        if less.enough:
            found, high = less, middle
        else:
            low = middle
    return found


def _spells(world: World) -> tuple[Shift, ...]:
    """When anybody of the crew is down for a shift between now and the target: others may come then too."""
    target = world.target or world.as_of
    left = sorted(
        (Shift(shift.start, min(shift.end, target), shift.day) for helper in world.helpers
         for shift in coming(helper, world.as_of) if shift.start < target),
        key=lambda shift: (shift.start, shift.end),
    )  # fmt: skip
    whole: list[Shift] = []
    for shift in left:
        if whole and shift.start <= whole[-1].end and shift.day == whole[-1].day:
            whole[-1] = Shift(whole[-1].start, max(whole[-1].end, shift.end), shift.day)
        else:
            whole.append(shift)
    return tuple(whole)


def _try(
    world: World, shifts: tuple[tuple[Shift, ...], ...], hand_over: bool, chance: float, trials: int, seed: int
) -> Takes:
    skills = frozenset(stage.value for stage in STAGES) | {job.name for job in world.jobs}
    more = tuple(Helper(f"One more ({number})", skills, shifts=own) for number, own in enumerate(shifts, 1))
    seen = outlook(changed(world, Change("more hands", more=more, hand_over=hand_over)), trials=trials, seed=seed)
    hours = sum(shift.end - shift.start for own in shifts for shift in own)
    enough = seen.chance_by(world.target or world.as_of) >= chance
    return Takes(hours, len(more), shifts, chance, seen, enough, hand_over)


def _layers(spells: tuple[Shift, ...], hours: float) -> tuple[tuple[Shift, ...], ...]:
    """Shifts that add up to so many hours: one helper after the other, each from the first spell on."""
    layers = []
    while hours > 1e-9 and spells:
        own = []
        for spell in spells:
            part = min(hours, spell.end - spell.start)
            if part <= 1e-9:
                break
            own.append(Shift(spell.start, spell.start + part, spell.day))
            hours -= part
        layers.append(tuple(own))
    return tuple(layers)
