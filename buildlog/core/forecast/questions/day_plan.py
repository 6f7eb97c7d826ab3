"""The day plan: who takes which segments when, if nothing goes otherwise than usual.

It is the forecast's own trial with chance taken out: everybody comes who said so, works at their usual rate, and no
test fails. Hand load is kept strictly: nobody is planned to populate past their limit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from buildlog.core.forecast.calendar import day_of, last_known, local_day
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.result.document.coding import Fact, moment, moment_or_none
from buildlog.core.forecast.result.document.day_plan import DayPlanDocument, Move
from buildlog.core.forecast.result.warnings import blocks_of
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.draws import calm_draws
from buildlog.core.forecast.simulate.records import JOB, Records
from buildlog.core.forecast.simulate.run import play_some
from buildlog.core.forecast.simulate.state import BuildArrays, no_log, no_results
from buildlog.core.work.stages import STAGES

ROOM = 400


@dataclass(frozen=True, slots=True)
class PlannedTurn:
    """One helper at one item of work: a segment's code at a stage word, or a job's name; [h UTC].

    ``pixels`` are this pair of hands' share of those that pass the stage in it; ``hands`` how many work on it at once.
    """

    helper: int
    work: str
    segment: str
    start: float
    end: float
    pixels: int
    hands: int


@dataclass(frozen=True)
class DayPlan:
    """All turns in order, and when the build is ready at this rate [h UTC] (None: not within what is known, and then
    ``missing`` person-hours are still to find)."""

    inputs: ForecastInput
    turns: tuple[PlannedTurn, ...]
    finish: float | None
    missing: float = 0.0

    @property
    def outcome(self) -> Fact:
        """When it ends like this, or why it does not."""
        if self.inputs.all_done:
            return Fact("plan_done")
        zone = self.inputs.time_zone
        if self.finish is not None:
            return Fact("plan_ready", {"day": day_of(self.finish, zone)})
        if blocks := blocks_of(self.inputs):
            return Fact("plan_stopped", parts=blocks[:2])
        last = last_known(self.inputs)
        return Fact("plan_unfinished", {"known_to": None if last is None else day_of(last, zone)})

    def document(self) -> DayPlanDocument:
        """Moments to the minute, in the build's own zone."""
        zone = self.inputs.time_zone
        return DayPlanDocument(
            build=self.inputs.build,
            as_of=moment(self.inputs.as_of, zone),
            finish=moment_or_none(self.finish, zone),
            sentence=self.outcome,
            moves=tuple(self._move(turn) for turn in self.turns),
        )

    def _move(self, turn: PlannedTurn) -> Move:
        zone = self.inputs.time_zone
        return Move(
            helper=self.inputs.helpers[turn.helper].name,
            work=turn.work,
            segment=turn.segment,
            start=moment(turn.start, zone),
            end=moment(turn.end, zone),
            hours=round(turn.end - turn.start, 4),
            pixels=turn.pixels,
            hands=turn.hands,
        )

    @property
    def days(self) -> tuple[int, ...]:
        """Local days (date ordinals) on which somebody works."""
        return tuple(sorted({self._day(turn) for turn in self.turns}))

    def on(self, day: int, helper: int | None = None) -> tuple[PlannedTurn, ...]:
        """The turns of one local day, of everybody or of one helper."""
        return tuple(turn for turn in self.turns if self._day(turn) == day and helper in (None, turn.helper))

    def _day(self, turn: PlannedTurn) -> int:
        return local_day(turn.start, self.inputs.time_zone)


def day_plan(inputs: ForecastInput, learned: Learned | None = None, arrays: BuildArrays | None = None) -> DayPlan:
    """Plan an input to its end, or to the end of the known availability.

    ``learned``: what its log taught, if that is known; ``arrays``: what ``arrays_of_plan`` makes of it, likewise.
    """
    learned = learned or Learned(inputs)
    result, log = _played(inputs, learned, arrays or arrays_of_plan(inputs, learned))
    after = float(result["finish"])
    turns = _whole(sorted(_turns(inputs, log), key=_in_time))
    finish = None if math.isinf(after) else inputs.as_of + after
    return DayPlan(inputs, tuple(sorted(turns, key=_in_time)), finish, float(result["missing"]))


def arrays_of_plan(inputs: ForecastInput, learned: Learned) -> BuildArrays:
    """People come when they said, and stop to populate when their hands have had enough."""
    return arrays_of(inputs, learned, stop_at_limit=True)


def _played(inputs: ForecastInput, learned: Learned, arrays: BuildArrays) -> tuple[np.void, Records]:
    """The result of the one trial, and its log."""
    draws = calm_draws(inputs, learned)
    results, room = no_results(1), 16 * len(inputs.segments) + ROOM
    while True:
        log = no_log(room)
        chunks = play_some(arrays, draws, log, results, 0, 1)
        if chunks < room:
            return results[0], log[:chunks]
        room *= 2


def _turns(inputs: ForecastInput, log: Records) -> Iterator[PlannedTurn]:
    done: dict[tuple[int, int], float] = {}
    for helper, kind, number, start, end, units in log.tolist():
        begin, stop = inputs.as_of + start, inputs.as_of + end
        if kind > JOB or stop - begin < 1 / 3600:
            continue
        if kind == JOB:
            job = inputs.jobs[number]
            yield PlannedTurn(helper, job.name, "", begin, stop, 0, job.hands)
            continue
        segment = inputs.segments[number]
        before = done.get((number, kind), segment.units(kind) - segment.left(kind))
        done[number, kind] = after = before + units
        share = segment.pixels / segment.units(kind)
        pixels = round(after * share) - round(before * share)
        yield PlannedTurn(helper, STAGES[kind].value, segment.code, begin, stop, pixels, segment.hands[kind])


def _whole(turns: list[PlannedTurn]) -> Iterator[PlannedTurn]:
    """Turns of one helper on one segment that follow one another without a pause are one."""
    open_turns: dict[int, PlannedTurn] = {}
    for turn in turns:
        before = open_turns.get(turn.helper)
        if before and (before.work, before.segment) == (turn.work, turn.segment) and turn.start - before.end < 1e-6:
            open_turns[turn.helper] = replace(before, end=turn.end, pixels=before.pixels + turn.pixels)
            continue
        if before:
            yield before
        open_turns[turn.helper] = turn
    yield from open_turns.values()


def _in_time(turn: PlannedTurn) -> tuple[float, int]:
    return turn.start, turn.helper
