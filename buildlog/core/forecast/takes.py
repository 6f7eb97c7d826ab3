"""What would it take: the least extra person-hours that bring a target to a chosen probability."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.calendar import coming
from buildlog.core.forecast.outlook import Outlook, day_text, outlook
from buildlog.core.forecast.whatif import Change, changed, skills_of_all
from buildlog.core.forecast.world import Helper, Shift, World
from buildlog.core.wording import counted, person_hours

MOST_EXTRA = 8  # helpers at a time
STEPS = 9  # halvings between enough and not enough
HARDLY = 0.02  # more hands that bring less than this are not worth asking for


@dataclass(frozen=True)
class Takes:
    """``hours`` extra person-hours, from now to the target, by helpers at the same times as the crew; ``shifts`` are
    theirs, the earliest first; ``seen`` is the outlook with them; ``enough`` says whether that reaches the chance: if
    not, they are those beyond which more hands hardly help. ``hand_over``: begun segments must be handed over too, or
    no number of hands is enough. ``most``: hours before the target in which the crew is there [h]. ``steps``:
    (person-hours, helpers, chance) with nobody more, and with one after the other for all of those hours."""

    hours: float
    helpers: int
    shifts: tuple[tuple[Shift, ...], ...]
    chance: float
    seen: Outlook
    enough: bool
    hand_over: bool = False
    most: float = 0.0
    steps: tuple[tuple[float, int, float], ...] = ()

    @property
    def probability(self) -> float:
        target = self.seen.world.target
        return self.seen.chance_by(target) if target is not None else 0.0

    @property
    def sentence(self) -> str:
        """The answer, with its units, and what to do where no number of hands is enough."""
        world = self.seen.world
        day, sure = day_text(world.target or 0.0, world.time_zone), round(100 * self.probability)
        if world.all_done:
            return "Everything is done: nothing more is needed."
        over = " if begun segments are handed over to whoever is there" if self.hand_over else ""
        if self.enough and self.hours <= 0:
            return f"Nothing more is needed: {day} is {sure} % sure{over}."
        hours = f"{person_hours(self.hours)} more"
        if self.enough:
            return f"{hours} by {day}, from {self._who}, make it {sure} % sure{over}."
        wanted = f"No number of extra hands up to {MOST_EXTRA} at a time brings {day} to {round(100 * self.chance)} %"
        if self.most <= 0:
            return (
                f"Nobody is down for a shift before {day}, and others come when the crew does: add shifts under Crew."
            )
        if self.hours <= 0:
            return f"{wanted}: it stays at {sure} %. Move the target, or add days."
        return f"{wanted}: {hours}, from {self._who}, make it {sure} %{over}, and others beside them hardly help. " + (
            "Move the target, or add days."
        )

    @property
    def _who(self) -> str:
        return "one more helper" if self.helpers == 1 else counted(self.helpers, "more helper")


def what_it_takes(world: World, *, chance: float = 0.8, trials: int, seed: int) -> Takes:
    """Search the least extra hours: whole layers of one more helper first, then part of the last layer.

    Raises Refused without a target, with one that has passed, and for a chance that is not between 0 and 1.
    """
    if world.target is None:
        raise Refused(
            Problem("The build has no target: set one in its settings, then ask what it would take.", "target")
        )
    if world.target <= world.as_of and not world.all_done:
        day = day_text(world.target, world.time_zone)
        raise Refused(
            Problem(f"The target, {day}, has passed: set another one, then ask what it would take.", "target")
        )
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
        found = _try(world, _layers(spells, hours), hand_over, chance, trials, seed)
        return replace(found, most=layer)

    layers, high = [tried(0.0)], 0.0
    while not layers[-1].enough and layer > 0 and high < MOST_EXTRA * layer:
        high += layer
        layers.append(tried(high))
    steps = tuple((takes.hours, takes.helpers, takes.probability) for takes in layers)
    return replace(_least(tried, layers, high - layer, high), steps=steps)


def _least(tried: Callable[[float], Takes], layers: list[Takes], low: float, high: float) -> Takes:
    """The least that is enough; where nothing is, what is worth asking for."""
    if not layers[-1].enough:
        best = max(takes.probability for takes in layers)
        return next(takes for takes in layers if takes.probability >= best - HARDLY)
    return _halved(tried, layers[-1], low, high) if len(layers) > 1 else layers[0]


def _halved(tried: Callable[[float], Takes], found: Takes, low: float, high: float) -> Takes:
    """Between hours that are not enough and hours that are."""
    for _ in range(STEPS):
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
    skills = skills_of_all(world)
    more = tuple(Helper(f"One more ({number})", skills, shifts=own) for number, own in enumerate(shifts, 1))
    seen = outlook(changed(world, Change("more hands", more=more, hand_over=hand_over)), trials=trials, seed=seed)
    hours = sum(shift.end - shift.start for own in shifts for shift in own)
    enough = world.all_done or seen.chance_by(world.target or world.as_of) >= chance
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
