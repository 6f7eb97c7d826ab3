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
import zlib
from bisect import insort
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import simpy

from buildlog.core.forecast import chance
from buildlog.core.forecast.calendar import coming, local_day
from buildlog.core.forecast.rates import PRACTICE_UNIT, SMALL_UNITS
from buildlog.core.forecast.tables import Luck
from buildlog.core.forecast.world import Piece, Shift, World

POPULATE, MOUNT, WIRE, TEST, JOB, MEND = range(6)
WORDS = ("populate", "mount", "wire", "test")
USUAL, CLOSING = (POPULATE, MOUNT, WIRE, TEST), (POPULATE, WIRE, MOUNT, TEST)
MOMENT = 1e-9
DONE = 1e-6  # units that are nothing any more


class Drawn:
    """What is drawn once a trial, given to both models; and chance for all the rest: of this model's own, or the very
    numbers that the compiled trials meet (``same``), so that the two can be held together trial by trial."""

    def __init__(self, luck: Luck, trial: int, rng: np.random.Generator, same: bool = False) -> None:
        self._rng, self._key = rng, int(luck.key[trial]) if same else None
        self.effort = luck.effort[trial].tolist()  # helpers × stages: log of person-hours per unit, before practice
        self.curve, self.growth, self.tiring, self.noise, self.form = luck.stage[trial].T.tolist()
        self.comes, self.stays = luck.comes[trial].tolist(), luck.leaves[trial].tolist()
        self.fails, self.mend_centre, self.mend_spread, *habits = luck.once[trial].tolist()
        self.keep, self.in_order, self.pause, self.day_part = habits
        self.job_hours = luck.job_hours[trial].tolist()
        self._days: dict[int, float] = {}

    def _normal(self, purpose: int, number: int) -> float:
        if self._key is None:
            return float(self._rng.standard_normal())
        return float(chance.normal(self._key, purpose, number))

    def hard(self, piece: Piece, stage: int, usual: float) -> float:
        """How much more effort a segment takes than usual: for its size, and by chance."""
        spread = self.noise[stage] * math.sqrt(1 + SMALL_UNITS[stage] / piece.left(stage))
        by_chance = spread * self._normal(chance.PIECE, 4 * _number(piece) + stage)
        return math.exp(self.growth[stage] * piece.size(stage, usual) + by_chance)

    def well(self, helper: int, day: int) -> float:
        """How a helper is on a day."""
        return self._normal(chance.TODAY, day * 4096 + helper)

    def on_day(self, helper: int, day: int) -> bool:
        """Does a helper come on a day? Partly their own doing, partly the day's, which is the same for everybody."""
        if day not in self._days:
            self._days[day] = self._normal(chance.EVERYBODY, day)
        own = math.sqrt(1 - self.day_part) * self._normal(chance.COMES, day * 4096 + helper)
        return own + math.sqrt(self.day_part) * self._days[day] < self.comes[helper]

    def failed(self, piece: Piece) -> bool:
        if self._key is None:
            return bool(self._rng.random() < self.fails)
        return bool(chance.uniform(self._key, chance.FAILS, _number(piece)) < self.fails)

    def mending(self, piece: Piece) -> float:
        """Hours that the mending of a failed test takes."""
        return self._mending(_number(piece))

    def old_mending(self, number: int) -> float:
        """Hours that a fault takes that is open from the start; the last one taken has number 1."""
        return self._mending(-number)

    def _mending(self, number: int) -> float:
        return math.exp(self.mend_centre + self.mend_spread * self._normal(chance.MENDS, number))


def _number(piece: Piece) -> int:
    return zlib.crc32(piece.code.encode())


@dataclass(eq=False)
class Task:
    """A segment at a stage, a job, or a fault to mend: what is left of it, and who is at it."""

    kind: int
    number: int
    left: float  # units of a segment, person-hours of the others
    hands: int = 1
    whose: int | None = None
    hard: float = 1.0
    begun: bool = False
    team: list[Helper] = field(default_factory=list)


@dataclass(eq=False)
class Helper:
    """Somebody of the crew, and how they stand at the moment."""

    number: int
    skills: frozenset[str]
    limit: float
    shifts: list[Shift]
    practice: list[float] = field(default_factory=lambda: [0.0] * 4)
    today: int = -1
    well: float = 0.0
    worked: float = 0.0
    populated: float = 0.0
    until: float = -math.inf  # the end of the shift
    since: float = 0.0  # when they became free
    paused: bool = True  # nothing done yet in this shift
    task: Task | None = None  # at it, or waiting for more hands for it
    mending: list[Task] = field(default_factory=list)
    begun: list[Task] = field(default_factory=list)
    asked: simpy.Event | None = None

    def can(self, kind: int) -> bool:
        return WORDS[kind] in self.skills


@dataclass(frozen=True)
class Spell:
    """A stretch of work on one task by one team."""

    task: Task
    team: tuple[Helper, ...]
    start: float
    end: float
    pace: float


class Shed:
    """One build from now to its end."""

    stages: Sequence[int] = (TEST, WIRE, MOUNT, POPULATE)  # later ones first

    def __init__(self, world: World, drawn: Drawn) -> None:
        self.env = simpy.Environment()
        self.world, self.drawn = world, drawn
        self.today = local_day(world.as_of, world.time_zone)
        self.hours, self.waited = [0.0] * 6, 0.0
        self.inside = [0] * 4  # people at each stage, those on their way counted
        self.calling: dict[int, Task] = {}  # by kind: what waits for more hands
        self.called = False
        self.done = self.env.event()
        self.crew = [self._helper(number) for number in range(len(world.helpers))]
        self._see_chains()
        self.segments = [[self._segment(number, stage) for stage in range(4)] for number in range(len(world.pieces))]
        self.jobs = [
            Task(JOB, n, hours, world.jobs[n].hands)
            for n, hours in enumerate(drawn.job_hours)
            if not world.jobs[n].done
        ]
        old = [n for n, piece in enumerate(world.pieces) for _ in range(piece.open_faults)]
        self.faults = [Task(MEND, n, drawn.old_mending(len(old) - at)) for at, n in enumerate(old)]
        self._see_what_is_left()

    def _helper(self, number: int) -> Helper:
        known = self.world.helpers[number]
        limit = math.inf if known.populate_limit_h is None else known.populate_limit_h
        return Helper(number, known.skills, limit, list(self._shifts(number)))

    def _shifts(self, number: int) -> Iterator[Shift]:
        """Those in which the helper comes; after so many promised days they do not come any more."""
        days: dict[int, bool] = {}
        for shift in self.to_come(number):
            if shift.day not in days:
                stays = len(days) < self.drawn.stays[number]
                days[shift.day] = stays and self.drawn.on_day(number, shift.day - self.today)
            if days[shift.day]:
                yield shift

    def to_come(self, number: int) -> list[Shift]:
        """What a helper is down for, in hours after as-of."""
        now = self.world.as_of
        return [Shift(s.start - now, s.end - now, s.day) for s in coming(self.world.helpers[number], now)]

    def _see_chains(self) -> None:
        """Which segments the data passes before each one, and after it."""
        chain = defaultdict(list)
        for number, piece in enumerate(self.world.pieces):
            for run in piece.runs:
                chain[run.channel].append((run.place, number))
        self.ahead: list[set[int]] = [set() for _ in self.world.pieces]
        self.behind: list[set[int]] = [set() for _ in self.world.pieces]
        for runs in chain.values():
            order = [number for _, number in sorted(runs)]
            for place, number in enumerate(order):
                self.ahead[number].update(order[:place])
                self.behind[number].update(order[place:])

    def _segment(self, number: int, stage: int) -> Task:
        piece = self.world.pieces[number]
        left = piece.left(stage)
        task = Task(stage, number, left, piece.hands[stage], begun=left == 0)
        if left > 0:
            task.hard = self.drawn.hard(piece, stage, self.world.usual_pixels)
        if piece.assigned is not None and self.crew[piece.assigned].can(stage):
            task.whose = piece.assigned
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
        return self.world.pieces[number].closing

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
        most = self.world.people[stage]
        return most is None or self.inside[stage] + hands <= most

    def enough_hands(self, task: Task) -> bool:
        """Are as many there who can do it as it needs?"""
        there = (me for me in self.crew if me.until > self.env.now + MOMENT and self.able(me, task))
        return task.hands == 1 or sum(1 for _ in there) >= task.hands

    def able(self, me: Helper, task: Task) -> bool:
        if task.kind == MEND:
            return me.can(WIRE) or me.can(TEST)
        if task.kind == JOB:
            name = self.world.jobs[task.number].name
            return name in me.skills or not any(name in other.skills for other in self.world.helpers)
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
        after = self.world.jobs[job.number].after
        undone = {self.world.jobs[other.number].name for other in self.jobs if other.left > 0}
        return any(name in undone or name in WORDS and self.left_at[WORDS.index(name)] for name in after)

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

    def arrive(self, me: Helper, shift: Shift) -> None:
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
            if self.drawn.failed(self.world.pieces[task.number]):
                me.mending.append(Task(MEND, task.number, self.drawn.mending(self.world.pieces[task.number])))
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
