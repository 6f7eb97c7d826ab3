"""From a world to the arrays of the compiled trials: the scene, and the luck drawn for each trial."""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from buildlog.core.forecast.calendar import coming, known_days, local_day
from buildlog.core.forecast.handed import outlasting
from buildlog.core.forecast.input import Helper, Shift, World
from buildlog.core.forecast.learn.attendance import (
    Attendance,
    Rework,
    Share,
    Together,
    attendance,
    failed_tests,
    promised_days,
    rework_hours,
    together_of,
)
from buildlog.core.forecast.learn.habits import Habits, habits_of
from buildlog.core.forecast.learn.helpers import Crew, together
from buildlog.core.forecast.learn.observations import Evidence, evidence_of
from buildlog.core.forecast.learn.pauses import Pauses, pauses_of
from buildlog.core.forecast.learn.rates import (
    GROWTH_MEAN,
    GROWTH_SD,
    PRACTICE_UNIT,
    SMALL_UNITS,
    Posterior,
    Prior,
    learn,
    observe,
)
from buildlog.core.forecast.simulate.state import (
    AFTER,
    ASSIGNED,
    AT_COLUMNS,
    B1,
    BEFORE,
    CLOSING,
    DAY,
    F8,
    FAULTS,
    HANDS,
    HELD,
    I8,
    JOB_COLUMNS,
    JOB_FROM,
    JOB_HANDS,
    JOB_TO,
    LIMIT,
    MATE_OF,
    MEND_AT,
    NUMBER,
    OF_FROM,
    OF_TO,
    OWNER,
    PRACTICE,
    ROOM,
    ROOM_TO,
    SEG_COLUMNS,
    SHIFT,
    SHIFT_FROM,
    SHIFT_TO,
    SKILL,
    TEAM,
    USED,
    WHO_COLUMNS,
    WORKED,
    Scene,
)
from buildlog.core.work.stages import STAGES, Stage, stage_after, stage_before


@dataclass(frozen=True)
class Learned:
    """All that the log of a world teaches; made once, used by forecast, day plan and what-ifs."""

    world: World

    @cached_property
    def evidence(self) -> Evidence:
        return evidence_of(self.world)

    @cached_property
    def stages(self) -> tuple[Posterior, ...]:
        """Posteriors of effort, one a stage."""
        crew = self.world.known
        found = []
        for stage in range(4):
            prior = prior_of(self.world, stage)
            efforts = [effort for effort in self.evidence.efforts if effort.stage == stage]
            found.append(learn(observe(efforts, crew, prior)[0], crew, prior))
        return tuple(found)

    @cached_property
    def crew(self) -> Crew:
        """The stages taken together."""
        return together(self.stages, self.world.known)

    @cached_property
    def comes(self) -> Attendance:
        return attendance(self.world)

    @cached_property
    def pauses(self) -> Pauses:
        return pauses_of(self.world)

    @cached_property
    def together(self) -> Together:
        """How much of coming or not is the day's doing."""
        return together_of(promised_days(self.world))

    @cached_property
    def fails(self) -> Share:
        return failed_tests(self.world, self.evidence)

    @cached_property
    def rework(self) -> Rework:
        return rework_hours(self.evidence)

    @cached_property
    def habits(self) -> Habits:
        return habits_of(self.world)


def prior_of(world: World, stage: int) -> Prior:
    """What is believed of a stage before measuring: the build's standard rate."""
    return Prior(
        mean=-math.log(world.standard.rate(stage)),
        spread=world.standard.spread,
        growth_mean=GROWTH_MEAN[stage],
        growth_sd=GROWTH_SD[stage],
        practice_unit=PRACTICE_UNIT[stage],
        small_units=SMALL_UNITS[stage],
    )


def scene_of(world: World, learned: Learned, stop_at_limit: bool = False) -> Scene:
    """The world as arrays."""
    skill = np.array([[stage.value in helper.skills for stage in STAGES] for helper in world.helpers])
    skill = skill.reshape(len(world.helpers), 4)
    pauses = Pauses() if stop_at_limit else learned.pauses  # the day plan asks people to come when they said
    shifts = [_likely(helper, world.as_of, pauses) for helper in world.helpers]
    back = np.array([bool(own) for own in shifts], dtype=np.bool_)
    assigned = _assigned(world, skill, back)
    chan, run, of_from = _chains(world)
    job, job_after = _jobs(world)
    room = _starts(_counts(assigned, len(skill)))
    size = [[piece.size(stage, world.usual_pixels) for stage in range(4)] for piece in world.pieces]
    left = _table([[piece.left(stage) for stage in range(4)] for piece in world.pieces], np.float64)
    return Scene(
        seg=_segments(world, assigned, _owners(world, back), of_from),
        left=np.hstack([left, left, _table(size, np.float64)]),
        who=_who(skill, _starts([len(own) for own in shifts]), room),
        at=_at(world, learned),
        shift=_shifts(world, shifts),
        chan=chan,
        run=run,
        job=job,
        job_skill=_job_skill(world),
        job_after=job_after,
        stage=np.array([PRACTICE_UNIT, SMALL_UNITS, [_limit(limit) for limit in world.people]]).T.copy(),
        assigned=int(room[-1]),
        stop_at_limit=stop_at_limit,
    )


def reassigned(scene: Scene, world: World) -> Scene:
    """The scene of a world in which nothing differs but whose the segments are."""
    skill = scene.who[:, SKILL : SKILL + 4].astype(np.bool_)
    assigned = _assigned(world, skill, scene.who[:, SHIFT_FROM] < scene.who[:, SHIFT_TO])
    room = _starts(_counts(assigned, len(skill)))
    seg, who = scene.seg.copy(), scene.who.copy()
    seg[:, ASSIGNED : ASSIGNED + 4] = assigned
    who[:, ROOM], who[:, ROOM_TO] = room[:-1], room[1:]
    return scene._replace(seg=seg, who=who, assigned=int(room[-1]))


def _likely(helper: Helper, as_of: float, pauses: Pauses) -> tuple[Shift, ...]:
    """The shifts to come, from when the crew usually begins to when it usually stops; what has begun has begun."""
    found = []
    for shift in coming(helper, as_of):
        start = shift.start + (pauses.late if shift.start > as_of else 0.0)
        if start < shift.end - pauses.early:
            found.append(Shift(start, shift.end - pauses.early, shift.day))
    return tuple(found)


def _segments(world: World, assigned: I8, owners: I8, of_from: I8) -> I8:
    pieces = world.pieces
    table = np.zeros((len(pieces), SEG_COLUMNS), dtype=np.int64)
    rows = [[_neighbour(stage_before, stage, piece.closing) for stage in range(4)] for piece in pieces]
    table[:, BEFORE : BEFORE + 4] = _table(rows, np.int64)
    rows = [[_neighbour(stage_after, stage, piece.closing) for stage in range(4)] for piece in pieces]
    table[:, AFTER : AFTER + 4] = _table(rows, np.int64)
    table[:, HANDS : HANDS + 4] = _table([piece.hands for piece in pieces], np.int64)
    table[:, OWNER : OWNER + 4] = owners
    table[:, ASSIGNED : ASSIGNED + 4] = assigned
    table[:, NUMBER] = [zlib.crc32(piece.code.encode()) for piece in pieces]
    table[:, CLOSING] = [piece.closing for piece in pieces]
    table[:, FAULTS] = [piece.open_faults for piece in pieces]
    table[:, OF_FROM], table[:, OF_TO] = of_from[:-1], of_from[1:]
    return table


def _counts(assigned: I8, crew: int) -> list[int]:
    """How many segments are assigned to each helper."""
    return [int((assigned == number).any(axis=1).sum()) for number in range(crew)]


def _who(skill: B1, shift_from: I8, room: I8) -> I8:
    table = np.zeros((len(skill), WHO_COLUMNS), dtype=np.int64)
    table[:, SKILL : SKILL + 4] = skill
    table[:, SHIFT_FROM], table[:, SHIFT_TO] = shift_from[:-1], shift_from[1:]
    table[:, SHIFT] = table[:, SHIFT_FROM] - 1
    table[:, ROOM], table[:, ROOM_TO] = room[:-1], room[1:]
    table[:, [DAY, HELD, MEND_AT, MATE_OF]] = -1
    table[:, TEAM] = 1
    return table


def _at(world: World, learned: Learned) -> F8:
    table = np.zeros((len(world.helpers), AT_COLUMNS))
    table[:, LIMIT] = [_limit(helper.populate_limit_h) for helper in world.helpers]
    table[:, USED] = worked_on(world, local_day(world.as_of, world.time_zone), STAGES[0].value)
    table[:, WORKED] = worked_on(world, local_day(world.as_of, world.time_zone), None)
    table[:, PRACTICE : PRACTICE + 4] = learned.evidence.practice[: len(table)]
    return table


def _shifts(world: World, shifts: Sequence[Sequence[Shift]]) -> F8:
    today, known = local_day(world.as_of, world.time_zone), known_days(world)
    rows = [
        (shift.start - world.as_of, shift.end - world.as_of, shift.day - today, (number, shift.day) in known)
        for number, own in enumerate(shifts)
        for shift in own
    ]
    return np.array(rows, dtype=np.float64).reshape(len(rows), 4)


def _table(rows: Sequence[Sequence[float]], kind: type) -> np.ndarray:
    return np.array(rows, dtype=kind).reshape(len(rows), 4)


def _limit(hours: float | int | None) -> float:
    return math.inf if hours is None else hours


def _neighbour(step: Callable[[Stage, bool], Stage | None], stage: int, closing: bool) -> int:
    found = step(STAGES[stage], closing)
    return -1 if found is None else STAGES.index(found)


def _starts(counts: Sequence[int]) -> I8:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)


def _chains(world: World) -> tuple[I8, I8, I8]:
    """Channels as stretches of the chain, the chain with the channels by segment, and where these begin."""
    runs = sorted((run.channel, run.place, number) for number, piece in enumerate(world.pieces) for run in piece.runs)
    channels = sorted({channel for channel, _, _ in runs})
    counts = Counter(channel for channel, _, _ in runs)
    rank = {channel: number for number, channel in enumerate(channels)}
    chain_from = _starts([counts[channel] for channel in channels])
    chan = np.array([chain_from[:-1], chain_from[1:], chain_from[:-1]]).T.copy()
    chain = [number for _, _, number in runs]
    of_channel = [rank[run.channel] for piece in world.pieces for run in piece.runs]
    run = np.array([chain, of_channel], dtype=np.int64).T.copy()
    return chan, run, _starts([len(piece.runs) for piece in world.pieces])


def _assigned(world: World, skill: B1, back: B1) -> I8:
    """Whose a segment is at each stage; nobody's where that helper lacks the skill or is not there for long enough."""
    short = outlasting(world)
    table = np.full((len(world.pieces), 4), -1, dtype=np.int64)
    for number, piece in enumerate(world.pieces):
        who = piece.assigned
        if who is not None and who not in short and back[who]:
            table[number, skill[who]] = who
    return table


def _owners(world: World, back: B1) -> I8:
    """Who began what is begun and not finished, and will be there again."""
    table = np.full((len(world.pieces), 4), -1, dtype=np.int64)
    for stint in sorted(world.stints, key=lambda stint: (stint.start, stint.end, stint.helpers)):
        place = world.place.get(stint.segment)
        stage = next((number for number, word in enumerate(STAGES) if word.value == stint.work), None)
        if place is None or stage is None or stint.pixels == 0 or not back[stint.helpers[0]]:
            continue
        if world.pieces[place].left(stage) > 0:
            table[place, stage] = stint.helpers[0]
    return table


def worked_on(world: World, day: int, work: str | None) -> F8:
    """Hours each helper has worked (at one stage, or in all) on a local day so far."""
    hours = np.zeros(len(world.helpers))
    for stint in world.stints:
        if work in (None, stint.work) and local_day(stint.start, world.time_zone) == day:
            hours[list(stint.helpers)] += stint.person_hours / len(stint.helpers)
    return hours


def _job_skill(world: World) -> np.ndarray:
    """A job can be done by those who name it among their skills; by everybody where nobody does."""
    table = np.array([[job.name in helper.skills for helper in world.helpers] for job in world.jobs], dtype=np.bool_)
    table = table.reshape(len(world.jobs), len(world.helpers))
    table[~table.any(axis=1)] = True
    return table.astype(np.int64)


def _jobs(world: World) -> tuple[F8, I8]:
    """Hands and predecessors of the jobs."""
    jobs = world.jobs
    names = {job.name: number for number, job in enumerate(jobs)}
    names |= {stage.value: len(jobs) + number for number, stage in enumerate(STAGES)}
    after = [[names[name] for name in job.after] for job in jobs]
    begin = _starts([len(own) for own in after])
    table = np.zeros((len(jobs), JOB_COLUMNS))
    table[:, JOB_HANDS] = [job.hands for job in jobs]
    table[:, JOB_FROM], table[:, JOB_TO] = begin[:-1], begin[1:]
    return table, np.array([name for own in after for name in own], dtype=np.int64)
