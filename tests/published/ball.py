"""The ball of the SimPy model: what is left, what is open, and what the rules allow."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator

import simpy

from buildlog.core.forecast.calendar import local_day, shifts_to_come
from buildlog.core.forecast.input import ForecastInput, ShiftInput
from tests.published.drawn import (
    CLOSING,
    JOB,
    MEND,
    MOMENT,
    MOUNT,
    POPULATE,
    TEST,
    USUAL,
    WIRE,
    WORDS,
    Drawn,
    Helper,
    Task,
)


class Ball:
    """The state of one build, and what the rules allow in it."""

    def __init__(self, inputs: ForecastInput, drawn: Drawn) -> None:
        self.env = simpy.Environment()
        self.inputs, self.drawn = inputs, drawn
        self.today = local_day(inputs.as_of, inputs.time_zone)
        self.hours, self.waited = [0.0] * 6, 0.0
        self.inside = [0] * 4  # people at each stage, those on their way counted
        self.calling: dict[int, Task] = {}  # by kind: what waits for more hands
        self.called = False
        self.done = self.env.event()
        self.crew = [self._helper(number) for number in range(len(inputs.helpers))]
        self._see_chains()
        self.segments = [[self._segment(number, stage) for stage in range(4)] for number in range(len(inputs.segments))]
        self.jobs = [
            Task(JOB, n, hours, inputs.jobs[n].hands)
            for n, hours in enumerate(drawn.job_hours)
            if not inputs.jobs[n].done
        ]
        old = [n for n, segment in enumerate(inputs.segments) for _ in range(segment.open_faults)]
        self.faults = [Task(MEND, n, drawn.old_mending(len(old) - at)) for at, n in enumerate(old)]
        self._see_what_is_left()

    def _helper(self, number: int) -> Helper:
        known = self.inputs.helpers[number]
        limit = math.inf if known.populate_limit_h is None else known.populate_limit_h
        return Helper(number, known.skills, limit, list(self._shifts(number)))

    def _shifts(self, number: int) -> Iterator[ShiftInput]:
        """Those in which the helper comes; after so many promised days they do not come any more."""
        days: dict[int, bool] = {}
        for shift in self.to_come(number):
            if shift.day not in days:
                stays = len(days) < self.drawn.stays[number]
                days[shift.day] = stays and self.drawn.on_day(number, shift.day - self.today)
            if days[shift.day]:
                yield shift

    def to_come(self, number: int) -> list[ShiftInput]:
        """What a helper is down for, in hours after as-of."""
        now = self.inputs.as_of
        return [ShiftInput(s.start - now, s.end - now, s.day) for s in shifts_to_come(self.inputs.helpers[number], now)]

    def _see_chains(self) -> None:
        """Which segments the data passes before each one, and after it."""
        chain = defaultdict(list)
        for number, segment in enumerate(self.inputs.segments):
            for run in segment.runs:
                chain[run.channel].append((run.place, number))
        self.ahead: list[set[int]] = [set() for _ in self.inputs.segments]
        self.behind: list[set[int]] = [set() for _ in self.inputs.segments]
        for runs in chain.values():
            order = [number for _, number in sorted(runs)]
            for place, number in enumerate(order):
                self.ahead[number].update(order[:place])
                self.behind[number].update(order[place:])

    def _segment(self, number: int, stage: int) -> Task:
        segment = self.inputs.segments[number]
        left = segment.left(stage)
        task = Task(stage, number, left, segment.hands[stage], begun=left == 0)
        if left > 0:
            task.hard = self.drawn.hard(segment, stage, self.inputs.usual_pixels)
        if segment.assigned is not None and self.crew[segment.assigned].can(stage):
            task.whose = segment.assigned
        return task

    def _see_what_is_left(self) -> None:
        every = [task for stages in self.segments for task in stages]
        self.to_do = sum(task.left > 0 for task in [*every, *self.jobs, *self.faults])
        self.left_at = [sum(stages[stage].left > 0 for stages in self.segments) for stage in range(4)]
        self.faulty = Counter(task.number for task in self.faults)
        self.unsound = {n for n in range(len(self.segments)) if not self._closing(n) and not self._sound(n)}
        self.open: dict[tuple[int | None, int], list[int]] = defaultdict(list)
        self.next_in_order = [0] * 4
        for task in every:
            self.put_out(task)

    # ---- the rules ------------------------------------------------------------------------

    def _closing(self, number: int) -> bool:
        return self.inputs.segments[number].closing

    def may(self, task: Task) -> bool:
        """The stages before, the data's way along its channels, the way in."""
        order = CLOSING if self._closing(task.number) else USUAL
        own = self.segments[task.number]
        if task.left <= 0 or any(own[before].left > 0 for before in order[: order.index(task.kind)]):
            return False
        if task.kind == TEST and any(self.segments[other][WIRE].left > 0 for other in self.ahead[task.number]):
            return False
        return not (task.kind == MOUNT and self._closing(task.number) and self.unsound)

    def room(self, stage: int, hands: int) -> bool:
        most = self.inputs.people[stage]
        return most is None or self.inside[stage] + hands <= most

    def enough_hands(self, task: Task) -> bool:
        """Are as many there who can do it as it needs?"""
        there = (me for me in self.crew if me.until > self.env.now + MOMENT and self.able(me, task))
        return task.hands == 1 or sum(1 for _ in there) >= task.hands

    def able(self, me: Helper, task: Task) -> bool:
        if task.kind == MEND:
            return me.can(WIRE) or me.can(TEST)
        if task.kind == JOB:
            name = self.inputs.jobs[task.number].name
            return name in me.skills or not any(name in other.skills for other in self.inputs.helpers)
        return me.can(task.kind)

    def tired(self, me: Helper, stage: int) -> bool:
        """Hands bear only so many hours of populating a day."""
        return stage == POPULATE and me.populated >= me.limit - MOMENT

    def turn(self, task: Task) -> bool:
        """Where a crew keeps to the order, nobody passes over the next segment of a stage that nobody has begun."""
        if not self.drawn.in_order or task.whose is not None:
            return True
        at = self.next_in_order[task.kind]
        while at < task.number and self._aside(self.segments[at][task.kind]):
            at += 1
        self.next_in_order[task.kind] = at
        return at >= task.number

    def _aside(self, task: Task) -> bool:
        return task.begun or task.whose is not None or (task.kind in (MOUNT, TEST) and self._closing(task.number))

    def waits(self, job: Task) -> bool:
        """Must the job wait for a stage or for another job?"""
        after = self.inputs.jobs[job.number].after
        undone = {self.inputs.jobs[other.number].name for other in self.jobs if other.left > 0}
        return any(name in undone or name in WORDS and self.left_at[WORDS.index(name)] for name in after)

    def put_out(self, task: Task) -> None:
        """Lay out a segment for whoever may take it."""
        raise NotImplementedError
