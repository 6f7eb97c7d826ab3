"""What was open to work on at any moment of the log: was somebody idle by choice, or because nothing could be begun?"""

from __future__ import annotations

import math

import numpy as np

from buildlog.core.forecast.input import ForecastInput, Helper, StintInput
from buildlog.core.forecast.learn.observations import Array
from buildlog.core.work.stages import MOUNT, POPULATE, STAGE_COUNT, STAGES, TEST, WIRE, stage_before, stage_index

NEVER = math.inf


class OpenWork:
    """When every segment was begun and ended at every stage, laid out so that a look-up takes no walk.

    Only the next segment in the order counts as open: a crew that keeps to the order would take no other, and for one
    that does not it is a sign that is too careful by little.
    """

    def __init__(self, inputs: ForecastInput) -> None:
        self._inputs = inputs
        self._begun, self._ended = _spans(inputs)
        self._first = np.maximum.accumulate(self._begun, axis=0)  # the first not begun at t: where this passes t
        self._ready = np.array([self._ready_at(stage) for stage in range(STAGE_COUNT)]).T.reshape(-1, STAGE_COUNT)
        self._at_work = [_busy(inputs, stage) for stage in range(STAGE_COUNT)]

    def to(self, helper: Helper, moment: float, populated: float = 0.0) -> bool:
        """Was the next segment of a stage open at a moment to a helper who had populated so many hours that day?"""
        return any(
            self._stage_open(stage, moment)
            for stage in range(STAGE_COUNT)
            if STAGES[stage].value in helper.skills
            and not (stage == POPULATE and helper.populate_limit_h is not None and populated >= helper.populate_limit_h)
        )

    def _stage_open(self, stage: int, moment: float) -> bool:
        first = int(np.searchsorted(self._first[:, stage], moment, side="right"))
        if first >= len(self._first) or self._ready[first, stage] > moment:
            return False
        limit = self._inputs.people[stage]
        if limit is None:
            return True
        begins, ends = self._at_work[stage]
        busy = np.searchsorted(begins, moment, side="right") - np.searchsorted(ends, moment, side="right")
        return bool(busy < limit)

    def _ready_at(self, stage: int) -> Array:
        """When all that a segment waits for at a stage was done; never for closing ones, which wait for the lead."""
        segments = self._inputs.segments
        ready = np.full(len(segments), -NEVER)
        for number, segment in enumerate(segments):
            before = stage_before(STAGES[stage], segment.closing)
            if before is not None:
                ready[number] = self._ended[number, STAGES.index(before)]
            if segment.closing and stage == MOUNT:
                ready[number] = NEVER
        return np.maximum(ready, self._reached()) if stage == TEST else ready

    def _reached(self) -> Array:
        """When data could reach each segment: all wired that come before it on its channels."""
        reached = np.full(len(self._inputs.segments), -NEVER)
        along: dict[int, float] = {}
        runs = ((run.channel, run.place, number) for number, p in enumerate(self._inputs.segments) for run in p.runs)
        for channel, _, number in sorted(runs):
            along[channel] = max(along.get(channel, -NEVER), self._ended[number, WIRE])
            reached[number] = max(reached[number], along[channel])
        return reached


def _spans(inputs: ForecastInput) -> tuple[Array, Array]:
    """Begin and end of every segment at every stage, segments × stages [h UTC]; without a stint: always."""
    shape = (len(inputs.segments), STAGE_COUNT)
    begun, ended, passed = np.full(shape, NEVER), np.full(shape, NEVER), np.zeros(shape)
    for stint in sorted(inputs.stints, key=lambda stint: stint.end):
        place, stage = inputs.place.get(stint.segment), stage_index(stint.work)
        if place is None or stage is None or not stint.pixels:
            continue
        begun[place, stage] = min(begun[place, stage], stint.start)
        passed[place, stage] += stint.pixels
        if passed[place, stage] >= inputs.segments[place].pixels:
            ended[place, stage] = min(ended[place, stage], stint.end)
    for place, segment in enumerate(inputs.segments):
        for stage in range(STAGE_COUNT):
            if segment.done[stage] and not passed[place, stage]:
                begun[place, stage] = -NEVER
            if segment.left(stage) <= 0 and ended[place, stage] == NEVER:
                ended[place, stage] = -NEVER if not passed[place, stage] else begun[place, stage]
    return begun, ended


def _busy(inputs: ForecastInput, stage: int) -> tuple[Array, Array]:
    """Begins and ends of everybody's spells at a stage, each in order."""
    spells: list[StintInput] = [stint for stint in inputs.stints if stint.work == STAGES[stage].value]
    begins = sorted(stint.start for stint in spells for _ in stint.helpers)
    ends = sorted(stint.end for stint in spells for _ in stint.helpers)
    return np.array(begins), np.array(ends)
