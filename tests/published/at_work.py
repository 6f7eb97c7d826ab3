"""A crew at work as a SimPy model: the rules of the work told once more, apart from the compiled trials, to be read.

Each helper is a process: they come, ask what there is to do, do it, and go. The shed answers: it knows what is open,
how many people fit and who waits for more hands. Hours after as-of throughout.

Where the rules leave a choice, a crew is said to do this. When all that happens at one moment has happened, whoever
has just been freed looks first, then those who wait, each in the order of the crew. One looks for the mending of what
failed in one's own test, then for what one has begun, then for faults that nobody mends, jobs, and segments: later
stages first, one's own before anybody's, in the order of the plan. What belongs to somebody who will not come again
is the others'.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Iterator, Sequence

import simpy

from buildlog.core.forecast.input import ShiftInput
from buildlog.core.forecast.learn.rates import PRACTICE_UNIT
from tests.published.ball import Ball
from tests.published.drawn import (
    DONE,
    JOB,
    MEND,
    MOMENT,
    MOUNT,
    POPULATE,
    TEST,
    WIRE,
    Helper,
    Spell,
    Task,
)


class Shed(Ball):
    """One build from now to its end."""

    stages: Sequence[int] = (TEST, WIRE, MOUNT, POPULATE)  # later ones first

    # ---- what somebody does next ----------------------------------------------------------

    def task_for(self, me: Helper) -> Task | None:
        return self._own(me) or self._fault(me) or self._job(me) or self._segment_for(me)

    def _own(self, me: Helper) -> Task | None:
        if me.mending:
            return me.mending[0]
        return next((task for task in reversed(me.begun) if self.room(task.kind, task.hands)), None)

    def _fault(self, me: Helper) -> Task | None:
        return self.faults[0] if self.faults and self.able(me, self.faults[0]) else None

    def _job(self, me: Helper) -> Task | None:
        for job in self.jobs:
            if job.left <= 0 or not self.able(me, job):
                continue
            if self.calling.get(JOB) is job:
                return job
            if not job.team and not self.waits(job) and (job.hands == 1 or self._may_call(job)):
                return job
        return None

    def _may_call(self, task: Task) -> bool:
        return task.kind not in self.calling and self.enough_hands(task)

    def _segment_for(self, me: Helper) -> Task | None:
        for stage in self.stages:
            if not me.can(stage) or self.tired(me, stage):
                continue
            if stage in self.calling:
                return self.calling[stage]
            if not self.room(stage, 1):
                continue
            for whose in (me.number, None):
                for number in self.open[whose, stage]:
                    task = self.segments[number][stage]
                    if not self.turn(task):
                        break
                    if self.room(stage, task.hands) and self.enough_hands(task):
                        return task
        return None

    # ---- the shed -------------------------------------------------------------------------

    def play(self) -> float:
        """Until everything is done, or nobody comes any more; the finish (inf = never)."""
        helpers = [self.env.process(self.helper(me)) for me in self.crew]
        if self.to_do:
            self.env.run(until=self.done | self.env.all_of(helpers))
        return self.env.now if self.to_do == 0 else math.inf

    def helper(self, me: Helper) -> Iterator[simpy.Event]:
        """Comes, asks, works, goes; and in the end leaves what is theirs to the others."""
        for shift in me.shifts:
            yield self.env.timeout(max(0.0, shift.start - self.env.now))
            self.arrive(me, shift)
            home = self.env.timeout(shift.end - self.env.now)
            while self.env.now < me.until - MOMENT:
                me.asked = self.env.event()
                self.call()
                yield me.asked | home
                if not me.asked.triggered:
                    break
                spell: Spell = me.asked.value
                yield self.env.timeout(spell.end - self.env.now)
                self.put_down(me, spell)
            self.go(me)
        self.hand_over(me)

    def arrive(self, me: Helper, shift: ShiftInput) -> None:
        me.until, me.since, me.paused = shift.end, self.env.now, True
        if shift.day != me.today:
            me.today, me.worked, me.populated = shift.day, 0.0, 0.0
            me.well = self.drawn.well(me.number, shift.day - self.today)

    def go(self, me: Helper) -> None:
        """The shift is over; whoever waited for this one's hands looks for something else."""
        if me.task is None:
            self.waited += max(0.0, self.env.now - me.since)
        else:
            task, me.task = me.task, None
            del self.calling[task.kind]
            for other in task.team:
                other.task, other.since = None, self.env.now
            task.team = []
            if task.kind < JOB:
                self.inside[task.kind] -= task.hands
                self.put_out(task)
        me.asked, me.until = None, -math.inf
        self.call()

    def hand_over(self, me: Helper) -> None:
        """Never back: others go on."""
        self.faults += me.mending
        mine = [(me.number, stage) for stage in range(4)]
        given = [self.segments[number][stage] for whose, stage in mine for number in self.open.pop((whose, stage), [])]
        for stages in self.segments:
            for task in stages:
                task.whose = None if task.whose == me.number else task.whose
        for task in [*given, *me.begun]:
            self.put_out(task)
        me.mending, me.begun = [], []
        self.call()

    def put_out(self, task: Task) -> None:
        """Lay out a segment for whoever it is assigned to, or for everybody, if the rules allow the stage."""
        row = self.open[task.whose, task.kind]
        if self.may(task) and not task.team and task.number not in row:
            insort(row, task.number)
        self.call()

    def call(self) -> None:
        """Whoever is free looks, as soon as all that happens at this moment has happened."""
        if not self.called:
            self.called = True
            self.env.timeout(MOMENT).callbacks.append(self.hand_out)

    def hand_out(self, _: simpy.Event) -> None:
        self.called = False
        now = self.env.now
        free = [me for me in self.crew if me.asked and not me.asked.triggered and me.until > now + MOMENT]
        free.sort(key=lambda me: (me.since < now - 2 * MOMENT, me.number))
        found = True
        while found:
            found = False
            for me in free:
                task = self.task_for(me) if me.task is None and not me.asked.triggered else None
                if task:
                    self.give(me, task)
                    found = True

    def give(self, me: Helper, task: Task) -> None:
        """Begin, or wait beside it until there are hands enough; their room is kept."""
        if not task.team:
            self.take_in(me, task)
        if me.since < self.env.now - 2 * MOMENT:
            self.waited += self.env.now - me.since
        task.team.append(me)
        me.task = task
        if len(task.team) < task.hands:
            self.calling[task.kind] = task
            me.since = self.env.now
            return
        if task.hands > 1:
            del self.calling[task.kind]
        spell = self.spell(task)
        for member in task.team:
            member.paused = False
            member.asked.succeed(spell)

    def take_in(self, me: Helper, task: Task) -> None:
        if task.kind < JOB:
            self.inside[task.kind] += task.hands
            row = self.open[task.whose, task.kind]
            if task in me.begun:
                me.begun.remove(task)
            elif task.number in row:
                row.remove(task.number)
        elif task.kind == MEND and task in self.faults:
            self.faults.remove(task)
            me.mending.append(task)

    def spell(self, task: Task) -> Spell:
        """From the end of the first one's pause until it is done, or somebody's shift is over."""
        first, now = task.team[0], self.env.now
        last = min(member.until for member in task.team)
        start = min(last, now if first.paused else max(now, first.since + self.drawn.pause))
        pace = sum(self.speed(member, task.kind) for member in task.team) / task.hard
        task.begun = True
        return Spell(task, tuple(task.team), start, min(last, start + task.left / pace), pace)

    def speed(self, me: Helper, kind: int) -> float:
        """Units an hour, with the practice of now, on this day, after so many hours of work."""
        if kind >= JOB:
            return 1.0
        drawn = self.drawn
        practice = (1 + self.practice(me, kind) / PRACTICE_UNIT[kind]) ** drawn.curve[kind]
        day = math.exp(drawn.form[kind] * me.well + drawn.tiring[kind] * me.worked)
        return 1 / (math.exp(drawn.effort[me.number][kind]) * practice * day)

    def practice(self, me: Helper, stage: int) -> float:
        return me.practice[stage]

    def put_down(self, me: Helper, spell: Spell) -> None:
        """The spell is over for one of the team; the first of them says what becomes of the task."""
        task, hours = spell.task, spell.end - spell.start
        units = hours * spell.pace / len(spell.team)
        me.task, me.since = None, self.env.now
        me.worked += hours
        self.hours[task.kind] += hours
        if task.kind < JOB:
            me.practice[task.kind] += units
        if task.kind == POPULATE:
            me.populated += hours
        if me is spell.team[0]:
            self.count(me, task, units * len(spell.team))

    def count(self, me: Helper, task: Task, units: float) -> None:
        if task.kind < JOB:
            self.inside[task.kind] -= task.hands
        task.team = []
        task.left -= units
        if task.left <= DONE:
            task.left = 0.0
            self.finish(me, task)
        elif task.kind < JOB and self.drawn.keep and task.hands == 1:
            me.begun.append(task)
        elif task.kind < JOB:
            self.put_out(task)
        self.call()

    def finish(self, me: Helper, task: Task) -> None:
        """Done: what does it open?"""
        self.to_do -= 1
        if task.kind < JOB:
            self.left_at[task.kind] -= 1
            self._finish_stage(me, task)
        elif task.kind == MEND:
            me.mending.remove(task)
            self.faulty[task.number] -= 1
            self.see_way_in(task.number)
        if self.to_do == 0:
            self.done.succeed()

    def _finish_stage(self, me: Helper, task: Task) -> None:
        if task.kind == TEST:
            if self.drawn.failed(self.inputs.segments[task.number]):
                me.mending.append(Task(MEND, task.number, self.drawn.mending(self.inputs.segments[task.number])))
                self.faulty[task.number] += 1
                self.to_do += 1
            self.see_way_in(task.number)
            return
        for following in self.segments[task.number]:
            self.put_out(following)
        if task.kind == WIRE:
            for other in self.behind[task.number]:
                self.put_out(self.segments[other][TEST])

    def _sound(self, number: int) -> bool:
        wire, test = self.segments[number][WIRE], self.segments[number][TEST]
        return wire.left == test.left == 0 and not self.faulty[number]

    def see_way_in(self, number: int) -> None:
        """Wired, tested and no fault open: perhaps that was the last one, and the way in may be closed."""
        if number in self.unsound and self._sound(number):
            self.unsound.discard(number)
            if not self.unsound:
                for other in range(len(self.segments)):
                    self.put_out(self.segments[other][MOUNT])
