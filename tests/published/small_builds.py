"""Random builds small enough for a general solver (OR-Tools CP-SAT) to find the best of all plans. Minutes throughout.

The solver is told the rules of the work on its own: order of the stages, data along the chain, the way in, room, hands,
skills, whose a segment is, what a job comes after. Every duration is a whole number of minutes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from buildlog.core.forecast.input import ForecastInput, Helper, JobInput, RunInput, SegmentInput, ShiftInput
from tests.published.engine import Played, given, played

STAGES = ("populate", "mount", "wire", "test")
SPEED = 10  # pixels
LATEST = 600


@dataclass(frozen=True)
class SmallBuild:
    """A world, and minutes per ten pixels (populate, mount) or per run (wire, test), helpers × stages."""

    inputs: ForecastInput
    minutes: np.ndarray

    def play(self, inputs: ForecastInput | None = None) -> Played:
        """Our trial without chance, of this world or of one that breaks its rules."""
        effort = self.minutes / [SPEED, SPEED, 1, 1] / 60
        return played(inputs or self.inputs, given(inputs or self.inputs, effort))


def small_build(seed: int, alike: bool = False) -> SmallBuild:
    """A build of its own for every seed; helpers who are ``alike`` have one pace, others differ up to fourfold."""
    rng = np.random.default_rng([4, seed])
    crew = int(rng.integers(2, 4))
    both = np.full((crew, 1), 2 * rng.integers(1, 3))  # those who mount together go at one pace
    minutes = np.hstack([rng.integers(1, 5, (crew, 1)), both, rng.integers(2, 7, (crew, 2))])
    return SmallBuild(_world(rng, crew), minutes[np.zeros(crew, int)] if alike else minutes)


def _world(rng: np.random.Generator, crew: int) -> ForecastInput:
    jobs = _jobs(rng, crew)
    limit = [None, None, *(int(most) if most < 3 else None for most in rng.integers(1, 4, 2))]
    return ForecastInput(0.0, _segments(rng, crew), _crew(rng, crew, jobs), jobs=jobs, people=tuple(limit))


def _segments(rng: np.random.Generator, crew: int) -> tuple[SegmentInput, ...]:
    number = int(rng.integers(2, 5))
    places = 1 + rng.permutation(2 * number).reshape(number, 2)
    closing = number - 1 if rng.random() < 0.5 else number
    found = []
    for n in range(number):
        pixels = SPEED * int(rng.integers(1, 5))
        channels = [(1,), (2,), (1, 2)][int(rng.integers(0, 3))]
        runs = tuple(RunInput(channel, int(places[n, channel - 1]), pixels // len(channels)) for channel in channels)
        done = SPEED * int(rng.integers(0, pixels // SPEED)) if rng.random() < 0.3 else 0
        whose = int(rng.integers(0, crew)) if rng.random() < 0.2 else None
        hands = (1, int(rng.choice([1, 2], p=[0.6, 0.4])), 1, 1)
        found.append(SegmentInput(f"P{n}", pixels, (done, 0, 0, 0), runs, n, n >= closing, whose, hands))
    return tuple(found)


def _jobs(rng: np.random.Generator, crew: int) -> tuple[JobInput, ...]:
    found: list[JobInput] = []
    for number in range(int(rng.integers(0, 3))):
        hands = int(rng.integers(1, 3))
        hours = hands * int(rng.integers(3, 20)) / 60
        before = [*STAGES[:2], *(job.name for job in found)]
        after = (str(rng.choice(before)),) if rng.random() < 0.6 else ()
        found.append(JobInput(f"job {number}", hours, hours, hours, hands, after))
    return tuple(found)


def _crew(rng: np.random.Generator, crew: int, jobs: tuple[JobInput, ...]) -> tuple[Helper, ...]:
    """Two who can do every stage, or two could be too few for some; the third lacks skills, and one job needs one."""
    found = []
    for number in range(crew):
        skills = set(STAGES) if number < 2 else set(rng.choice(STAGES, 2, replace=False).tolist())
        skills |= {job.name for job in jobs if job.hands == 1 and number == 0}
        found.append(Helper(f"Helper {number}", frozenset(skills), None, (ShiftInput(0.0, 1000.0, 719163),)))
    return tuple(found)


# ---- the solver's side ------------------------------------------------------------------------


@dataclass
class Task:
    """A item of work in the solver's model: who is on it, from when to when."""

    start: cp_model.IntVar
    end: cp_model.IntVar
    on: dict[int, cp_model.IntVar]
    spells: list[cp_model.IntervalVar]
    hands: int


@dataclass
class Plans:
    """All plans that the rules allow, as a model: tasks by (segment, stage) or (job, "")."""

    build: SmallBuild
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    tasks: dict[tuple[str, str], Task] = field(default_factory=dict)
    busy: dict[int, list[cp_model.IntervalVar]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        inputs = self.build.inputs
        for segment in inputs.segments:
            for number, stage in enumerate(STAGES):
                if segment.left(number) > 0:
                    self._add((segment.code, stage), self._minutes(segment, number), segment.hands[number])
        for job in inputs.jobs:
            able = [n for n, helper in enumerate(inputs.helpers) if job.name in helper.skills] or range(
                len(inputs.helpers)
            )
            self._add((job.name, ""), dict.fromkeys(able, round(job.likely * 60 / job.hands)), job.hands)
        self._rules()
        self.finish = self.model.new_int_var(0, LATEST, "finish")
        self.model.add_max_equality(self.finish, [task.end for task in self.tasks.values()])
        self.model.minimize(self.finish)

    def _minutes(self, segment: SegmentInput, stage: int) -> dict[int, int]:
        """Minutes by helper who may do it."""
        able = [n for n, helper in enumerate(self.build.inputs.helpers) if STAGES[stage] in helper.skills]
        if segment.assigned in able:
            able = [segment.assigned] if segment.hands[stage] == 1 else able
        units = segment.left(stage) / (SPEED if stage < 2 else 1)
        return {n: round(units * self.build.minutes[n, stage] / segment.hands[stage]) for n in able}

    def _add(self, name: tuple[str, str], minutes: dict[int, int], hands: int) -> None:
        model, label = self.model, " ".join(name)
        start, end = model.new_int_var(0, LATEST, label), model.new_int_var(0, LATEST, f"{label} end")
        on = {helper: model.new_bool_var(f"{label} by {helper}") for helper in minutes}
        spells = [
            model.new_optional_interval_var(start, length, end, on[helper], f"{label} of {helper}")
            for helper, length in minutes.items()
        ]
        for helper, spell in zip(minutes, spells, strict=True):
            self.busy.setdefault(helper, []).append(spell)
        model.add(sum(on.values()) == hands)
        self.tasks[name] = Task(start, end, on, spells, hands)

    def _rules(self) -> None:
        for spells in self.busy.values():
            self.model.add_no_overlap(spells)
        for number, limit in enumerate(self.build.inputs.people):
            if limit is not None:
                self._room(STAGES[number], limit)
        for segment in self.build.inputs.segments:
            order = ("populate", "wire", "mount", "test") if segment.closing else STAGES
            for n, stage in enumerate(order[1:], start=1):
                self._after((segment.code, stage), ((segment.code, before) for before in order[:n]))
            self._after((segment.code, "test"), ((other.code, "wire") for other in self._before(segment)))
            if segment.closing:
                inside = [other.code for other in self.build.inputs.segments if not other.closing]
                self._after((segment.code, "mount"), ((code, stage) for code in inside for stage in ("wire", "test")))
        for job in self.build.inputs.jobs:
            for name in job.after:
                self._after((job.name, ""), [task for task in self.tasks if name in task])

    def _before(self, segment: SegmentInput) -> Iterator[SegmentInput]:
        """Whatever has a run before this segment on one of its channels."""
        for other in self.build.inputs.segments:
            if any(a.channel == b.channel and a.place < b.place for a in other.runs for b in segment.runs):
                yield other

    def _room(self, stage: str, limit: int) -> None:
        spells = [spell for (_, name), task in self.tasks.items() if name == stage for spell in task.spells]
        self.model.add_cumulative(spells, [1] * len(spells), limit)

    def _after(self, later: tuple[str, str], before: Iterable[tuple[str, str]]) -> None:
        for name in before:
            if later in self.tasks and name in self.tasks:
                self.model.add(self.tasks[name].end <= self.tasks[later].start)

    def best(self) -> int:
        """The least possible finish [minutes]."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_deterministic_time = 60
        status = solver.solve(self.model)
        if status != cp_model.OPTIMAL:
            raise AssertionError(f"not solved to the optimum: {solver.status_name(status)}")
        return round(solver.objective_value)

    def allows(self, done: Played) -> bool:
        """Is what was played one of the plans that the rules allow?"""
        for (name, stage), task in self.tasks.items():
            spells = [c for c in done.chunks if (c.segment, c.work) == ((name, stage) if stage else ("", name))]
            if {c.helper for c in spells} - set(task.on) or len(spells) != task.hands:
                return False
            for chunk in spells:
                start = round(chunk.start * 60)
                assert abs(chunk.start * 60 - start) < 1e-6, "whole minutes only"
                self.model.add(task.start == start)
                self.model.add(task.on[chunk.helper] == 1)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        found = solver.solve(self.model) == cp_model.OPTIMAL
        return found and abs(solver.objective_value - done.finish * 60) < 1e-6
