"""Invented builds whose whole story is known: what a log shows by some evening, and what then really happened.

The stories have what the forecast's model does not: tiredness through the day, one gift for all stages, rings that
are harder than others, rates that drift, days on which many stay away at once, a helper who leaves for good, timers
left on, pauses between stints, crews that do or do not take over each other's work. They are told here in plain
Python, on their own, so that no mistake is shared with the compiled trials.
"""

from __future__ import annotations

import heapq
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from buildlog.core.forecast.world import Helper, Piece, Run, Shift, Stint, World
from buildlog.core.work.stages import STAGES

SATURDAY = 493_800.0  # 2026-05-02 00:00 UTC
NAMES = ["Ada", "Bo", "Cleo", "Dag", "Eli", "Fay", "Gus", "Hal", "Ivy", "Jon", "Kit", "Lou"]
DAY = 24.0


@dataclass(frozen=True)
class Truth:
    """What is so in one story and nobody in it knows."""

    effort: np.ndarray  # helpers × stages, person-hours per unit when fresh and new
    practice: np.ndarray  # helpers × stages, exponent
    practice_unit: np.ndarray  # stages
    noise: np.ndarray  # stages
    tired: np.ndarray  # helpers, share slower per hour of work in a day
    comes: np.ndarray  # helpers
    hardness: np.ndarray  # segments
    leaves: dict[int, int]  # helper → day of the story on which they stop coming
    bad_days: float
    fails: float
    mend_h: float
    forgets: float
    gap_h: float
    keep: bool
    in_order: bool
    drift: float


@dataclass
class Story:
    """One build: what is known beforehand, the truth, and everything that happened."""

    number: int
    pixels: list[int]
    runs: list[tuple[Run, ...]]
    helpers: list[Helper]
    truth: Truth
    people: tuple[int | None, ...] = (None, None, 2, 2)
    stints: list[Stint] = field(default_factory=list)  # as logged
    real: list[tuple[float, float, int]] = field(default_factory=list)  # (end, hours, stage or 5 = rework) as they were
    finish: float = math.inf

    @property
    def hours(self) -> float:
        return sum(hours for _, hours, _ in self.real)

    def evening_at(self, share: float) -> float:
        """22:00 of the day on which so much of all hours had been spent."""
        spent, target = 0.0, share * self.hours
        for end, hours, _ in sorted(self.real):
            spent += hours
            if spent >= target:
                return math.floor(end / DAY) * DAY + 22.0
        return math.inf

    def hours_after(self, moment: float) -> float:
        return sum(hours for end, hours, _ in self.real if end > moment)

    def as_of(self, moment: float) -> World:
        """What is on file at a moment."""
        stints = tuple(stint for stint in self.stints if stint.end <= moment)
        done: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
        for stint in stints:
            done[stint.segment][[stage.value for stage in STAGES].index(stint.work)] += stint.pixels
        pieces = tuple(
            Piece(f"S{number}", count, tuple(min(count, got) for got in done[f"S{number}"]), self.runs[number])
            for number, count in enumerate(self.pixels)
        )
        return World(moment, pieces, tuple(self.helpers), stints, people=self.people, build=f"story {self.number}")


def story(number: int) -> Story:
    """Story number so-and-so, told to its end."""
    rng = np.random.default_rng(77_000 + number)
    pixels = _pixels(rng)
    crew = int(rng.integers(3, 9))
    told = Story(number, pixels, _chain(pixels, int(rng.choice([340, 500, 680]))), [], _truth(rng, crew, len(pixels)))
    total = sum(pixels)
    told.helpers = _crew(rng, crew, days=int(40 + total / 12))
    _Telling(told, rng).tell()
    return told


def _pixels(rng: np.random.Generator) -> list[int]:
    """Segments of a ball without ribs."""
    rings = int(rng.integers(28, 66))
    widest = int(rng.integers(150, 320))
    found = []
    for ring in range(rings):
        count = max(20, round(widest * math.sin(math.pi * (ring + 2.0) / (rings + 4.0))))
        pieces = math.ceil(count / 100)
        found += [count // pieces + (1 if piece < count % pieces else 0) for piece in range(pieces)]
    return found


def _chain(pixels: list[int], capacity: int) -> list[tuple[Run, ...]]:
    runs: list[tuple[Run, ...]] = []
    channel, room, place = 1, capacity, 1
    for count in pixels:
        own = []
        while count:
            if room == 0:
                channel, room, place = channel + 1, capacity, 1
            part = min(count, room)
            own.append(Run(channel, place, part))
            room, count, place = room - part, count - part, place + 1
        runs.append(tuple(own))
    return runs


def _truth(rng: np.random.Generator, crew: int, segments: int) -> Truth:
    standard = np.array([1 / 400, 1 / 350, 1 / 6, 1 / 15])
    level = standard * np.exp(rng.normal(0, 0.25, 4))
    gift = rng.normal(0, rng.uniform(0.1, 0.35), (crew, 1)) + rng.normal(0, rng.uniform(0.05, 0.25), (crew, 4))
    leaves = {int(rng.integers(0, crew)): int(rng.integers(6, 30))} if crew > 3 and rng.random() < 0.25 else {}
    return Truth(
        effort=level * np.exp(gift),
        practice=rng.uniform(0.0, 0.16, (crew, 1)) + rng.uniform(-0.02, 0.03, (crew, 4)),
        practice_unit=np.array([rng.uniform(60, 400), rng.uniform(60, 400), rng.uniform(2, 8), rng.uniform(2, 8)]),
        noise=rng.uniform(0.1, 0.35, 4),
        tired=np.maximum(0, rng.normal(0.03, 0.02, crew)),
        comes=np.clip(rng.beta(9, 1.4, crew), 0.5, 1.0),
        hardness=np.exp(
            float(rng.uniform(0.0, 0.12)) * np.sin(np.linspace(0, rng.uniform(2, 7), segments) + rng.uniform(0, 6))
        ),
        leaves=leaves,
        bad_days=float(rng.choice([0.0, 0.04, 0.1])),
        fails=float(rng.uniform(0.01, 0.06)),
        mend_h=float(rng.uniform(0.2, 0.6)),
        forgets=float(rng.choice([0.0, 0.05, 0.2])),
        gap_h=float(rng.choice([0.0, 0.0, 0.03])),
        keep=bool(rng.random() < 0.6),
        in_order=bool(rng.random() < 0.6),
        drift=float(rng.normal(0, 0.002)),
    )


def _crew(rng: np.random.Generator, crew: int, days: int) -> list[Helper]:
    helpers = []
    for number in range(crew):
        skills = {stage.value for stage in STAGES}
        if number > 0 and rng.random() < 0.4:
            skills -= {str(rng.choice(["mount", "wire", "test"]))}
        weekend, evening = rng.uniform(0.35, 0.9), rng.uniform(0.05, 0.5)
        shifts: list[Shift] = []
        for day in range(days):
            begin = SATURDAY + DAY * day
            if day % 7 in (0, 1) and rng.random() < weekend:
                shifts += [
                    Shift(begin + 9, begin + 12.5, _ordinal(begin)),
                    Shift(begin + 13.25, begin + 17, _ordinal(begin)),
                ]
            elif day % 7 in (3, 5) and rng.random() < evening:
                shifts.append(Shift(begin + 18, begin + 21, _ordinal(begin)))
        helpers.append(Helper(NAMES[number], frozenset(skills), 3.0, tuple(shifts)))
    return helpers


def _ordinal(moment: float) -> int:
    return int(moment // 24) + 719_163


class _Telling:
    """The build as it goes on: plain events, one helper at a time."""

    def __init__(self, told: Story, rng: np.random.Generator) -> None:
        self.story, self.truth, self.rng = told, told.truth, rng
        segments, crew = len(told.pixels), len(told.helpers)
        self.left = [[float(count)] * 4 for count in told.pixels]  # in pixels at every stage
        self.begun = [[False] * 4 for _ in range(segments)]
        self.free = [[True] * 4 for _ in range(segments)]  # nobody at it and nobody keeps it
        self.factor = np.exp(rng.normal(0, 1, (segments, 4)) * self.truth.noise)
        self.held: list[list[tuple[int, int]]] = [[] for _ in range(crew)]
        self.practice = np.zeros((crew, 4))
        self.active = [0, 0, 0, 0]
        self.mend = [0.0] * crew
        self.low = [0, 0, 0, 0]
        self.there: dict[int, float] = {}
        self.today = [(-1, 0.0, 0.0)] * crew  # day, hours worked, hours populated
        self.waiting: set[int] = set()

    def tell(self) -> None:
        for event in self._shifts():
            heapq.heappush(self.queue, event)
        while self.queue and not self._done():
            now, kind, helper, payload = heapq.heappop(self.queue)
            if kind == 0:
                self._work_ends(now, helper, payload)
            elif kind == 1:
                self.waiting.discard(helper)
                if helper in self.there and self.there[helper] <= now:
                    del self.there[helper]
            else:
                self.there[helper] = payload
                self.waiting.add(helper)
            self._hand_over(now)
            self._offer(now)
        if not self._done():
            self.story.finish = math.inf

    def _hand_over(self, now: float) -> None:
        """What somebody began who has left for good is anybody's."""
        for helper, day in self.truth.leaves.items():
            if now > SATURDAY + 24 * day:
                for segment, stage in self.held[helper]:
                    self.free[segment][stage] = True
                self.held[helper] = []

    @property
    def queue(self) -> list:
        if not hasattr(self, "_queue"):
            self._queue: list = []
        return self._queue

    def _shifts(self) -> Iterator[tuple[float, int, int, float]]:
        bad: dict[int, bool] = {}
        first = _ordinal(SATURDAY)
        for helper, person in enumerate(self.story.helpers):
            came: dict[int, bool] = {}
            for shift in person.shifts:
                gone = shift.day - first >= self.truth.leaves.get(helper, 10**9)
                wet = bad.setdefault(shift.day, bool(self.rng.random() < self.truth.bad_days))
                share = self.truth.comes[helper] * (0.35 if wet else 1.0)
                if came.setdefault(shift.day, bool(self.rng.random() < share)) and not gone:
                    yield shift.start, 2, helper, shift.end
                    yield shift.end, 1, helper, 0.0

    def _done(self) -> bool:
        return (
            self.low[3] >= len(self.left)
            and not any(self.mend)
            or all(part[3] <= 0 for part in self.left[self.low[3] :])
            and not any(self.mend)
        )

    def _offer(self, now: float) -> None:
        """Everybody who is free looks, again and again until nobody finds anything."""
        found = True
        while found:
            found = False
            for helper in sorted(self.waiting):
                if self.there.get(helper, -1.0) <= now + 1e-9:
                    continue
                pick = self._pick(helper, now)
                if pick is not None:
                    self.waiting.discard(helper)
                    self._begin(now, helper, *pick)
                    found = True

    def _pick(self, helper: int, now: float) -> tuple[int, int] | None:
        if self.mend[helper] > 0:
            return (-1, 2)
        for own in list(self.held[helper]):
            if self._room(own[1]):
                self.held[helper].remove(own)
                return own
        person = self.story.helpers[helper]
        for stage in (3, 2, 1, 0):
            if STAGES[stage].value not in person.skills or not self._room(stage):
                continue
            if stage == 0 and self._day(helper, now)[2] >= (person.populate_limit_h or math.inf):
                continue
            segment = self._first(stage)
            if segment is not None:
                return segment, stage
        return None

    def _room(self, stage: int) -> bool:
        limit = self.story.people[stage]
        return limit is None or self.active[stage] < limit

    def _first(self, stage: int) -> int | None:
        while self.low[stage] < len(self.left) and self.left[self.low[stage]][stage] <= 0:
            self.low[stage] += 1
        for segment in range(self.low[stage], len(self.left)):
            if self.left[segment][stage] > 0 and self.free[segment][stage] and self._open(segment, stage):
                return segment
            if self.truth.in_order and not self.begun[segment][stage]:
                return None
        return None

    def _open(self, segment: int, stage: int) -> bool:
        if stage and self.left[segment][stage - 1] > 0:
            return False
        if stage < 3:
            return True
        first = {run.channel: run.place for run in self.story.runs[segment]}
        return all(
            self.left[other][2] <= 0
            for other in range(max(0, segment - 40), segment)
            for run in self.story.runs[other]
            if run.channel in first and run.place < first[run.channel]
        )

    def _day(self, helper: int, now: float) -> tuple[int, float, float]:
        day = _ordinal(now)
        if self.today[helper][0] != day:
            self.today[helper] = (day, 0.0, 0.0)
        return self.today[helper]

    def _begin(self, now: float, helper: int, segment: int, stage: int) -> None:
        until = self.there[helper]
        if segment < 0:
            end = min(until, now + self.mend[helper])
            heapq.heappush(self.queue, (end, 0, helper, (segment, stage, now, 0.0)))
            return
        self.active[stage] += 1
        self.begun[segment][stage], self.free[segment][stage] = True, False
        pace = self._pace(now, helper, segment, stage)
        end = min(until, now + self.left[segment][stage] / pace)
        heapq.heappush(self.queue, (end, 0, helper, (segment, stage, now, pace)))

    def _pace(self, now: float, helper: int, segment: int, stage: int) -> float:
        """Pixels per hour at a stage."""
        truth, count = self.truth, self.story.pixels[segment]
        whole = count if stage < 2 else 1.0  # wiring and testing a segment is one piece of work
        effort = truth.effort[helper, stage] * whole / count
        effort *= (1 + self.practice[helper, stage] / truth.practice_unit[stage]) ** -truth.practice[helper, stage]
        effort *= self.factor[segment, stage] * truth.hardness[segment]
        effort *= 1 + truth.tired[helper] * self._day(helper, now)[1]
        effort *= math.exp(truth.drift * (now - SATURDAY) / 24)
        return 1.0 / effort

    def _work_ends(self, now: float, helper: int, payload: tuple[int, int, float, float]) -> None:
        segment, stage, begun, pace = payload
        spent = now - begun
        day, worked, populated = self._day(helper, now)
        self.today[helper] = (day, worked + spent, populated + (spent if stage == 0 else 0.0))
        self.story.real.append((now, spent, stage if segment >= 0 else 5))
        over = now >= self.there.get(helper, now) - 1e-9
        if segment < 0:
            self.mend[helper] -= spent
            if self.mend[helper] < 1e-9:
                self.mend[helper] = 0.0
            self._log(helper, stage, begun, now, 0, max(0, self.mended_at[helper]), over)
        else:
            self._count(now, helper, segment, stage, spent, pace, begun, over)
        pause = now + (self.rng.exponential(self.truth.gap_h) if self.truth.gap_h else 0.0)
        if pause > now and pause < self.there.get(helper, 0.0):
            heapq.heappush(self.queue, (pause, 2, helper, self.there[helper]))
        else:
            self.waiting.add(helper)
        self.story.finish = now

    mended_at: dict[int, int] = defaultdict(int)

    def _count(
        self, now: float, helper: int, segment: int, stage: int, spent: float, pace: float, begun: float, over: bool
    ) -> None:
        before = math.ceil(self.left[segment][stage] - 1e-9)
        self.left[segment][stage] -= spent * pace
        done = self.left[segment][stage] <= 1e-6
        if done:
            self.left[segment][stage] = 0.0
        after = math.ceil(self.left[segment][stage] - 1e-9)
        self.active[stage] -= 1
        units = spent * pace if stage < 2 else spent * pace / self.story.pixels[segment]
        self.practice[helper, stage] += units
        if before > after:
            self._log(helper, stage, begun, now, before - after, segment, over)
        if done and stage == 3 and self.rng.random() < self.truth.fails:
            self.mend[helper] = float(self.truth.mend_h * np.exp(self.rng.normal(0, 0.4)))
            self.mended_at[helper] = segment
        if not done and self.truth.keep:
            self.held[helper].append((segment, stage))
        elif not done:
            self.free[segment][stage] = True

    def _log(self, helper: int, stage: int, begun: float, now: float, pixels: int, segment: int, over: bool) -> None:
        end = now
        if over and (now % 24) > 16 and self.rng.random() < self.truth.forgets:
            end = min(now + self.rng.exponential(2.5), math.floor(now / 24) * 24 + 23.9)
        self.story.stints.append(Stint(STAGES[stage].value, (helper,), begun, end, pixels, f"S{segment}"))
