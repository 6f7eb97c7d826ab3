"""What would it take: the least extra person-hours that bring a target to a chosen probability.

So many more helpers come whenever somebody of the crew is there, from now on, until each has been there for so many
hours. Both are searched on one lattice, whatever the target and the chance, all with the same random numbers: an
earlier target never needs fewer hours, and a lower chance never more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.calendar import day_of, day_text, shifts_to_come
from buildlog.core.forecast.input import ForecastInput, Helper, ShiftInput
from buildlog.core.forecast.questions.holdup import days_are_short, holdup
from buildlog.core.forecast.questions.scenario import Scenario, changed, skills_of_all
from buildlog.core.forecast.result.document.coding import Fact, Values, moment, moment_or_none
from buildlog.core.forecast.result.document.target import HelpersStep, Spell, TargetDocument
from buildlog.core.forecast.result.forecast import Forecast, forecast
from buildlog.core.forecast.result.warnings import HANDS_DO_NOT_HELP, NOBODY_THERE, blocks_of
from buildlog.core.forecast.simulate.arrays import Learned
from buildlog.core.wording import _, percent_below
from buildlog.core.work.stages import STAGES

MOST_EXTRA = 8  # helpers at a time
STEP = 0.5  # hours of one helper: finer is not asked of anybody
LADDER = (1, 2, *(rung for power in range(2, 12) for rung in (2**power, 3 * 2 ** (power - 1))), 4096)  # steps
HARDLY = 0.02  # more hands that bring less than this are not worth asking for


@dataclass(frozen=True)
class TargetReached:
    """``hours`` extra person-hours, from now to the target, by helpers at the same times as the crew; ``shifts`` are
    theirs, the earliest first; ``seen`` is the forecast with them; ``enough`` says whether that reaches the chance: if
    not, they are those beyond which more hands hardly help, and ``why`` says what holds it up; ``stuck``: that is all
    there is to say. ``hand_over``: begun segments must be handed over too, or no number of hands is enough. ``most``:
    hours before the target in which the crew is there [h]. ``steps``: with nobody more, and with one helper after the
    other for all of those hours.
    """

    hours: float
    helpers: int
    shifts: tuple[tuple[ShiftInput, ...], ...]
    chance: float
    seen: Forecast
    enough: bool
    hand_over: bool = False
    most: float = 0.0
    steps: tuple[HelpersStep, ...] = ()
    why: Fact | None = None
    stuck: bool = False

    @property
    def probability(self) -> float:
        target = self.seen.inputs.target
        return self.seen.chance_by(target) if target is not None else 0.0

    @property
    def step(self) -> HelpersStep:
        return HelpersStep(round(self.hours, 2), self.helpers, self.probability, self.hand_over)

    @property
    def margin(self) -> float:
        """How far the chance of so few trials may be off: two standard errors of a share."""
        return 2 * math.sqrt(self.chance * (1 - self.chance) / self.seen.trials)

    @property
    def outcome(self) -> Fact:
        """The answer, and why where no number of hands is enough."""
        inputs = self.seen.inputs
        if inputs.all_done:
            return Fact("needs_nothing")
        if self.stuck and self.why:
            return self.why
        day = day_of(inputs.target or 0.0, inputs.time_zone)
        sure: Values = {"day": day, "percent": percent_below(self.probability), "hand_over": self.hand_over}
        if self.enough and self.hours <= 0:
            return Fact("enough_already", sure)
        hands: Values = {"hours": self.hours, "helpers": self.helpers, "skills": self._new_skills}
        if self.enough or self.why is None:
            return Fact("enough_with", sure | hands)
        return Fact("not_enough", sure | hands | {"most": MOST_EXTRA, "wanted": round(100 * self.chance)}, (self.why,))

    @property
    def _new_skills(self) -> list[str]:
        """Stages with work left that nobody of the crew can do."""
        inputs = self.seen.inputs
        crew = inputs.helpers[: inputs.known]
        return [
            stage.value
            for number, stage in enumerate(STAGES)
            if inputs.units_left(number) > 0 and not any(stage.value in helper.skills for helper in crew)
        ]

    def document(self) -> TargetDocument:
        """``shifts`` by extra helper, in the build's own zone."""
        inputs = self.seen.inputs
        zone = inputs.time_zone
        return TargetDocument(
            build=inputs.build,
            as_of=moment(inputs.as_of, zone),
            trials=self.seen.trials,
            seed=self.seen.seed,
            target=moment_or_none(inputs.target, zone),
            chance=self.chance,
            probability=self.probability,
            enough=self.enough,
            hours=round(self.hours, 2),
            helpers=self.helpers,
            hand_over=self.hand_over,
            shifts=tuple(tuple(Spell(moment(s.start, zone), moment(s.end, zone)) for s in own) for own in self.shifts),
            steps=self.steps,
            margin=round(self.margin, 4),
            sentence=self.outcome,
        )


def what_it_takes(inputs: ForecastInput, *, chance: float = 0.8, trials: int, seed: int) -> TargetReached:
    """Search the least extra hours.

    Raises Refused without a target, with one that has passed, and for a chance that is not between 0 and 1.
    """
    problems = tuple(_problems(inputs, chance))
    if problems:
        raise Refused(problems)
    return _TargetSearch(inputs, chance, trials, seed).answer()


def _problems(inputs: ForecastInput, chance: float) -> Iterator[Problem]:
    if not 0 < chance < 1:
        yield Problem(
            _("Found a chance of {chance:g}: give one between 0 and 1, 0.8 is usual."), "chance", chance=chance
        )
    if inputs.all_done:
        return
    if inputs.target is None:
        yield Problem(_("The build has no target: set one in its settings, then ask what it would take."), "target")
    elif inputs.target <= inputs.as_of:
        day = day_text(inputs.target, inputs.time_zone)
        yield Problem(
            _("The target, {day}, has passed: set another one, then ask what it would take."), "target", day=day
        )


def _stuck(inputs: ForecastInput, top: int) -> Fact | None:
    """Why no hands help at all; None where they may."""
    for block in blocks_of(inputs):
        if block.code in HANDS_DO_NOT_HELP:
            return Fact("stopped", {"nobody_there": block.code in NOBODY_THERE}, (block,))
    if top or inputs.all_done:
        return None
    return Fact("no_shift_before", {"day": day_of(inputs.target or 0.0, inputs.time_zone)})


class _TargetSearch:
    """The lattice of one question: helpers × steps of hours that each of them comes."""

    def __init__(self, inputs: ForecastInput, chance: float, trials: int, seed: int) -> None:
        self.inputs, self.chance, self.trials, self.seed = inputs, chance, trials, seed
        self.spells = _spells(inputs)
        self.most = _until(inputs)
        self.top = int(self.most / STEP + 1e-9)  # steps before the target
        self.skills = skills_of_all(inputs)
        self.learned = Learned(self.with_more(MOST_EXTRA, 0, False))  # of all that are played: it takes a while

    def answer(self) -> TargetReached:
        """Nobody more; then the same with begun segments handed over; then that and one more helper after the other."""
        today = self.tried(0, 0, False)
        if why := _stuck(self.inputs, self.top):
            return replace(today, most=self.most, why=why, stuck=True)
        tops = [today] if today.enough else [today, self.tried(0, 0)]
        while not tops[-1].enough and len(tops) <= MOST_EXTRA + 1:
            tops.append(self.tried(len(tops) - 1, self.top))
        answer = self._plainly(self._least(tops[-1])) if tops[-1].enough else self._worth_it(tops[1:])
        steps = tuple(takes.step for takes in tops)
        return replace(answer, most=self.most, steps=steps)

    def _plainly(self, enough: TargetReached) -> TargetReached:
        """The same hands without handing anything over, where that is enough too."""
        if not enough.helpers:
            return enough
        plain = self.tried(enough.helpers, round(enough.hours / enough.helpers / STEP), False)
        return plain if plain.enough else enough

    def _least(self, enough: TargetReached) -> TargetReached:
        """From so few helpers that are enough, the least hours of them or of more."""
        if not enough.helpers:
            return enough
        best = self._fewest(enough.helpers, enough)
        for helpers in range(enough.helpers + 1, MOST_EXTRA + 1):
            less = math.ceil(best.hours / helpers / STEP - 1e-9) - 1  # the most steps that would be fewer hours
            tried = self.tried(helpers, min(less, self.top)) if less > 0 else best
            if less > 0 and tried.enough:
                best = self._fewest(helpers, tried)
        return best

    def _fewest(self, helpers: int, enough: TargetReached) -> TargetReached:
        """The least steps of so many helpers that are enough, halved from rung to rung and between two rungs."""
        low, high = 0, next(place for place, rung in enumerate(LADDER) if rung >= self.top)
        rungs = (0, *LADDER)
        while low < high:
            middle = (low + high) // 2
            less = self._at(helpers, rungs[middle + 1], enough)
            low, high, enough = (low, middle, less) if less.enough else (middle + 1, high, enough)
        return self._between(helpers, rungs[low], rungs[low + 1], enough)

    def _between(self, helpers: int, low: int, high: int, enough: TargetReached) -> TargetReached:
        while high - low > 1:
            middle = (low + high) // 2
            less = self._at(helpers, middle, enough)
            low, high, enough = (low, middle, less) if less.enough else (middle, high, enough)
        return enough

    def _at(self, helpers: int, steps: int, enough: TargetReached) -> TargetReached:
        """Steps that are no fewer than what is enough already are not played again."""
        return enough if helpers * steps * STEP >= enough.hours - 1e-9 else self.tried(helpers, steps)

    def _worth_it(self, tops: list[TargetReached]) -> TargetReached:
        """Where nothing is enough: as many as are worth asking for, and what holds it up."""
        best = max(tops, key=lambda takes: takes.probability)
        enough = next(takes for takes in tops if not _lacks(takes, best))
        return replace(enough, why=self._why(tops[-1]))

    def _why(self, most: TargetReached) -> Fact:
        too_short = most.seen.hours_at(50) > self.most * len(most.seen.inputs.helpers)
        held = None if too_short else holdup(most.seen)
        return held or days_are_short(self.spells, self.inputs)

    def tried(self, helpers: int, steps: int, hand_over: bool = True) -> TargetReached:
        inputs = self.with_more(helpers, steps, hand_over)
        seen = forecast(inputs, trials=self.trials, seed=self.seed, learned=self.learned)
        enough = inputs.all_done or seen.chance_by(inputs.target or inputs.as_of) >= self.chance
        shifts = tuple(helper.shifts for helper in inputs.helpers[inputs.known :])
        return TargetReached(helpers * steps * STEP, helpers, shifts, self.chance, seen, enough, hand_over)

    def with_more(self, helpers: int, steps: int, hand_over: bool) -> ForecastInput:
        own = _first(self.spells, steps * STEP)
        more = tuple(Helper(f"One more ({number})", self.skills, shifts=own) for number in range(1, helpers + 1))
        return changed(self.inputs, Scenario("more hands", more=more, hand_over=hand_over))


def _lacks(takes: TargetReached, best: TargetReached) -> bool:
    """Is a chance less than the best by more than hardly anything, and by more than the trials' own error?"""
    target = takes.seen.inputs.target or 0.0
    after = target - takes.seen.inputs.as_of + 1e-9
    less = (best.seen.finish <= after).astype(float) - (takes.seen.finish <= after)
    error = float(less.std()) / math.sqrt(len(less))
    return float(less.mean()) > max(HARDLY, 2 * error)


def _until(inputs: ForecastInput) -> float:
    """Hours before the target in which somebody of the crew is there."""
    target = inputs.as_of if inputs.target is None else inputs.target
    return sum(max(0.0, min(spell.end, target) - spell.start) for spell in _spells(inputs))


def _spells(inputs: ForecastInput) -> tuple[ShiftInput, ...]:
    """When anybody of the crew is down for a shift from now on: others may come then too."""
    whole: list[ShiftInput] = []
    left = (shift for helper in inputs.helpers for shift in shifts_to_come(helper, inputs.as_of))
    for shift in sorted(left, key=lambda shift: (shift.start, shift.end)):
        if whole and shift.start <= whole[-1].end and shift.day == whole[-1].day:
            whole[-1] = ShiftInput(whole[-1].start, max(whole[-1].end, shift.end), shift.day)
        else:
            whole.append(shift)
    return tuple(whole)


def _first(spells: tuple[ShiftInput, ...], hours: float) -> tuple[ShiftInput, ...]:
    """The first so many hours of these spells."""
    own = []
    for spell in spells:
        part = min(hours, spell.end - spell.start)
        if part <= 1e-9:
            break
        own.append(ShiftInput(spell.start, spell.start + part, spell.day))
        hours -= part
    return tuple(own)
