"""An invented build told to its end in plain Python: who comes, who takes what, what is logged of it."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator

import numpy as np

from buildlog.core.forecast.input import StintInput
from buildlog.core.work.stages import STAGES
from tests.bench.stories import SATURDAY, Fault, Story, ordinal


class Telling:
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
        self.faults: list[Fault | None] = [None] * crew  # what each has to mend
        self.low = [0, 0, 0, 0]
        self.there: dict[int, float] = {}
        self.today = [(-1, 0.0, 0.0)] * crew  # day, hours worked, hours populated
        self.waiting: set[int] = set()

    def tell(self) -> None:
        for event in self._shifts():
            heapq.heappush(self.queue, event)
        while self.queue and not self._done():
            self.step()
        if not self._done():
            self.story.finish = math.inf

    def step(self) -> None:
        """The next thing that happens."""
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
        first = ordinal(SATURDAY)
        for helper, person in enumerate(self.story.helpers):
            came: dict[int, bool] = {}
            for shift in person.shifts:
                gone = shift.day - first >= self.truth.leaves.get(helper, 10**9)
                wet = bad.setdefault(shift.day, bool(self.rng.random() < self.truth.bad_days))
                share = self.truth.comes[helper] * (0.35 if wet else 1.0)
                if came.setdefault(shift.day, bool(self.rng.random() < share)) and not gone:
                    late, early = self.rng.exponential(self.truth.late_h, 2) if self.truth.late_h else (0.0, 0.0)
                    begin, end = shift.start + min(late, 1.0), shift.end - min(early, 1.0)
                    yield begin, 2, helper, end
                    yield end, 1, helper, 0.0

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
        limit = self.story.family.people[stage]
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
        day = ordinal(now)
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
        whole = count if stage < 2 else 1.0  # wiring and testing a segment is one item of work
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
            fault = self.faults[helper]
            if self.mend[helper] < 1e-9:
                self.mend[helper], fault.mended = 0.0, now
            self._log(helper, stage, begun, now, 0, fault.segment, over)
        else:
            self._count(now, helper, segment, stage, spent, pace, begun, over)
        pause = now + (self.rng.exponential(self.truth.gap_h) if self.truth.gap_h else 0.0)
        if pause > now and pause < self.there.get(helper, 0.0):
            heapq.heappush(self.queue, (pause, 2, helper, self.there[helper]))
        else:
            self.waiting.add(helper)
        self.story.finish = now

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
            self.faults[helper] = Fault(segment, now)
            self.story.faults.append(self.faults[helper])
        if not done and self.truth.keep:
            self.held[helper].append((segment, stage))
        elif not done:
            self.free[segment][stage] = True

    def _log(self, helper: int, stage: int, begun: float, now: float, pixels: int, segment: int, over: bool) -> None:
        end = now
        if over and not self.story.family.forgets_last and (now % 24) > 16 and self.rng.random() < self.truth.forgets:
            end = min(now + self.rng.exponential(2.5), math.floor(now / 24) * 24 + 23.9)
        self.story.stints.append(StintInput(STAGES[stage].value, (helper,), begun, end, pixels, f"S{segment}"))
