"""From an input to the arrays of the compiled trials: the scene, and the luck drawn for each trial."""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from buildlog.core.forecast.calendar import coming, known_days, local_day, outlasting
from buildlog.core.forecast.input import ForecastInput, Helper, ShiftInput
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
from buildlog.core.forecast.learn.helpers import CrewPosterior, together
from buildlog.core.forecast.learn.observations import Observations, observations_of
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
    BuildArrays,
)
from buildlog.core.work.stages import STAGES, Stage, stage_after, stage_before


@dataclass(frozen=True)
class Learned:
    """All that the log of an input teaches; made once, used by forecast, day plan and what-ifs."""

    inputs: ForecastInput

    @cached_property
    def observations(self) -> Observations:
        return observations_of(self.inputs)

    @cached_property
    def stages(self) -> tuple[Posterior, ...]:
        """Posteriors of effort, one a stage."""
        crew = self.inputs.known
        found = []
        for stage in range(4):
            prior = prior_of(self.inputs, stage)
            efforts = [effort for effort in self.observations.efforts if effort.stage == stage]
            found.append(learn(observe(efforts, crew, prior)[0], crew, prior))
        return tuple(found)

    @cached_property
    def crew(self) -> CrewPosterior:
        """The stages taken together."""
        return together(self.stages, self.inputs.known)

    @cached_property
    def comes(self) -> Attendance:
        return attendance(self.inputs)

    @cached_property
    def pauses(self) -> Pauses:
        return pauses_of(self.inputs)

    @cached_property
    def together(self) -> Together:
        """How much of coming or not is the day's doing."""
        return together_of(promised_days(self.inputs))

    @cached_property
    def fails(self) -> Share:
        return failed_tests(self.inputs, self.observations)

    @cached_property
    def rework(self) -> Rework:
        return rework_hours(self.observations)

    @cached_property
    def habits(self) -> Habits:
        return habits_of(self.inputs)


def prior_of(inputs: ForecastInput, stage: int) -> Prior:
    """What is believed of a stage before measuring: the build's standard rate."""
    return Prior(
        mean=-math.log(inputs.standard.rate(stage)),
        spread=inputs.standard.spread,
        growth_mean=GROWTH_MEAN[stage],
        growth_sd=GROWTH_SD[stage],
        practice_unit=PRACTICE_UNIT[stage],
        small_units=SMALL_UNITS[stage],
    )


def arrays_of(inputs: ForecastInput, learned: Learned, stop_at_limit: bool = False) -> BuildArrays:
    """The input as arrays."""
    skill = np.array([[stage.value in helper.skills for stage in STAGES] for helper in inputs.helpers])
    skill = skill.reshape(len(inputs.helpers), 4)
    pauses = Pauses() if stop_at_limit else learned.pauses  # the day plan asks people to come when they said
    shifts = [_likely(helper, inputs.as_of, pauses) for helper in inputs.helpers]
    back = np.array([bool(own) for own in shifts], dtype=np.bool_)
    assigned = _assigned(inputs, skill, back)
    chan, run, of_from = _chains(inputs)
    job, job_after = _jobs(inputs)
    room = _starts(_counts(assigned, len(skill)))
    size = [[segment.size(stage, inputs.usual_pixels) for stage in range(4)] for segment in inputs.segments]
    left = _table([[segment.left(stage) for stage in range(4)] for segment in inputs.segments], np.float64)
    return BuildArrays(
        seg=_segments(inputs, assigned, _owners(inputs, back), of_from),
        left=np.hstack([left, left, _table(size, np.float64)]),
        who=_who(skill, _starts([len(own) for own in shifts]), room),
        at=_at(inputs, learned),
        shift=_shifts(inputs, shifts),
        chan=chan,
        run=run,
        job=job,
        job_skill=_job_skill(inputs),
        job_after=job_after,
        stage=np.array([PRACTICE_UNIT, SMALL_UNITS, [_limit(limit) for limit in inputs.people]]).T.copy(),
        assigned=int(room[-1]),
        stop_at_limit=stop_at_limit,
    )


def reassigned(arrays: BuildArrays, inputs: ForecastInput) -> BuildArrays:
    """The scene of an input in which nothing differs but whose the segments are."""
    skill = arrays.who[:, SKILL : SKILL + 4].astype(np.bool_)
    assigned = _assigned(inputs, skill, arrays.who[:, SHIFT_FROM] < arrays.who[:, SHIFT_TO])
    room = _starts(_counts(assigned, len(skill)))
    seg, who = arrays.seg.copy(), arrays.who.copy()
    seg[:, ASSIGNED : ASSIGNED + 4] = assigned
    who[:, ROOM], who[:, ROOM_TO] = room[:-1], room[1:]
    return arrays._replace(seg=seg, who=who, assigned=int(room[-1]))


def _likely(helper: Helper, as_of: float, pauses: Pauses) -> tuple[ShiftInput, ...]:
    """The shifts to come, from when the crew usually begins to when it usually stops; what has begun has begun."""
    found = []
    for shift in coming(helper, as_of):
        start = shift.start + (pauses.late if shift.start > as_of else 0.0)
        if start < shift.end - pauses.early:
            found.append(ShiftInput(start, shift.end - pauses.early, shift.day))
    return tuple(found)


def _segments(inputs: ForecastInput, assigned: I8, owners: I8, of_from: I8) -> I8:
    segments = inputs.segments
    table = np.zeros((len(segments), SEG_COLUMNS), dtype=np.int64)
    rows = [[_neighbour(stage_before, stage, segment.closing) for stage in range(4)] for segment in segments]
    table[:, BEFORE : BEFORE + 4] = _table(rows, np.int64)
    rows = [[_neighbour(stage_after, stage, segment.closing) for stage in range(4)] for segment in segments]
    table[:, AFTER : AFTER + 4] = _table(rows, np.int64)
    table[:, HANDS : HANDS + 4] = _table([segment.hands for segment in segments], np.int64)
    table[:, OWNER : OWNER + 4] = owners
    table[:, ASSIGNED : ASSIGNED + 4] = assigned
    table[:, NUMBER] = [zlib.crc32(segment.code.encode()) for segment in segments]
    table[:, CLOSING] = [segment.closing for segment in segments]
    table[:, FAULTS] = [segment.open_faults for segment in segments]
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


def _at(inputs: ForecastInput, learned: Learned) -> F8:
    table = np.zeros((len(inputs.helpers), AT_COLUMNS))
    table[:, LIMIT] = [_limit(helper.populate_limit_h) for helper in inputs.helpers]
    table[:, USED] = worked_on(inputs, local_day(inputs.as_of, inputs.time_zone), STAGES[0].value)
    table[:, WORKED] = worked_on(inputs, local_day(inputs.as_of, inputs.time_zone), None)
    table[:, PRACTICE : PRACTICE + 4] = learned.observations.practice[: len(table)]
    return table


def _shifts(inputs: ForecastInput, shifts: Sequence[Sequence[ShiftInput]]) -> F8:
    today, known = local_day(inputs.as_of, inputs.time_zone), known_days(inputs)
    rows = [
        (shift.start - inputs.as_of, shift.end - inputs.as_of, shift.day - today, (number, shift.day) in known)
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


def _chains(inputs: ForecastInput) -> tuple[I8, I8, I8]:
    """Channels as stretches of the chain, the chain with the channels by segment, and where these begin."""
    runs = sorted(
        (run.channel, run.place, number) for number, segment in enumerate(inputs.segments) for run in segment.runs
    )
    channels = sorted({channel for channel, _, _ in runs})
    counts = Counter(channel for channel, _, _ in runs)
    rank = {channel: number for number, channel in enumerate(channels)}
    chain_from = _starts([counts[channel] for channel in channels])
    chan = np.array([chain_from[:-1], chain_from[1:], chain_from[:-1]]).T.copy()
    chain = [number for _, _, number in runs]
    of_channel = [rank[run.channel] for segment in inputs.segments for run in segment.runs]
    run = np.array([chain, of_channel], dtype=np.int64).T.copy()
    return chan, run, _starts([len(segment.runs) for segment in inputs.segments])


def _assigned(inputs: ForecastInput, skill: B1, back: B1) -> I8:
    """Whose a segment is at each stage; nobody's where that helper lacks the skill or is not there for long enough."""
    short = outlasting(inputs)
    table = np.full((len(inputs.segments), 4), -1, dtype=np.int64)
    for number, segment in enumerate(inputs.segments):
        who = segment.assigned
        if who is not None and who not in short and back[who]:
            table[number, skill[who]] = who
    return table


def _owners(inputs: ForecastInput, back: B1) -> I8:
    """Who began what is begun and not finished, and will be there again."""
    table = np.full((len(inputs.segments), 4), -1, dtype=np.int64)
    for stint in sorted(inputs.stints, key=lambda stint: (stint.start, stint.end, stint.helpers)):
        place = inputs.place.get(stint.segment)
        stage = next((number for number, word in enumerate(STAGES) if word.value == stint.work), None)
        if place is None or stage is None or stint.pixels == 0 or not back[stint.helpers[0]]:
            continue
        if inputs.segments[place].left(stage) > 0:
            table[place, stage] = stint.helpers[0]
    return table


def worked_on(inputs: ForecastInput, day: int, work: str | None) -> F8:
    """Hours each helper has worked (at one stage, or in all) on a local day so far."""
    hours = np.zeros(len(inputs.helpers))
    for stint in inputs.stints:
        if work in (None, stint.work) and local_day(stint.start, inputs.time_zone) == day:
            hours[list(stint.helpers)] += stint.person_hours / len(stint.helpers)
    return hours


def _job_skill(inputs: ForecastInput) -> np.ndarray:
    """A job can be done by those who name it among their skills; by everybody where nobody does."""
    table = np.array([[job.name in helper.skills for helper in inputs.helpers] for job in inputs.jobs], dtype=np.bool_)
    table = table.reshape(len(inputs.jobs), len(inputs.helpers))
    table[~table.any(axis=1)] = True
    return table.astype(np.int64)


def _jobs(inputs: ForecastInput) -> tuple[F8, I8]:
    """Hands and predecessors of the jobs."""
    jobs = inputs.jobs
    names = {job.name: number for number, job in enumerate(jobs)}
    names |= {stage.value: len(jobs) + number for number, stage in enumerate(STAGES)}
    after = [[names[name] for name in job.after] for job in jobs]
    begin = _starts([len(own) for own in after])
    table = np.zeros((len(jobs), JOB_COLUMNS))
    table[:, JOB_HANDS] = [job.hands for job in jobs]
    table[:, JOB_FROM], table[:, JOB_TO] = begin[:-1], begin[1:]
    return table, np.array([name for own in after for name in own], dtype=np.int64)
