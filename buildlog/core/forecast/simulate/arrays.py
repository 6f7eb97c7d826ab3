"""From an input to the arrays of the compiled trials."""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from buildlog.core.forecast.calendar import known_days, local_day, overassigned, shifts_to_come
from buildlog.core.forecast.input import ForecastInput, Helper, ShiftInput
from buildlog.core.forecast.learn.attendance import (
    Attendance,
    Rate,
    Rework,
    SharedAttendance,
    attendance,
    failed_tests,
    promised_days,
    rework_hours,
    shared_attendance_of,
)
from buildlog.core.forecast.learn.habits import Habits, habits_of
from buildlog.core.forecast.learn.helpers import CrewPosterior, pooled
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
from buildlog.core.forecast.simulate.records import (
    B1,
    CHANNEL,
    F8,
    HELPER,
    I8,
    JOB_STATE,
    SEGMENT,
    SHIFT,
    STAGE_GIVEN,
    Records,
)
from buildlog.core.forecast.simulate.state import BuildArrays
from buildlog.core.work.stages import POPULATE, STAGE_COUNT, STAGES, Stage, stage_after, stage_before


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
        posteriors = []
        for stage in range(STAGE_COUNT):
            prior = prior_of(self.inputs, stage)
            efforts = [effort for effort in self.observations.efforts if effort.stage == stage]
            posteriors.append(learn(observe(efforts, crew, prior)[0], crew, prior))
        return tuple(posteriors)

    @cached_property
    def crew(self) -> CrewPosterior:
        """The stages taken together."""
        return pooled(self.stages, self.inputs.known)

    @cached_property
    def attendance(self) -> Attendance:
        return attendance(self.inputs)

    @cached_property
    def pauses(self) -> Pauses:
        return pauses_of(self.inputs)

    @cached_property
    def shared_attendance(self) -> SharedAttendance:
        """How much of attendance is the day's doing."""
        return shared_attendance_of(promised_days(self.inputs))

    @cached_property
    def failure_rate(self) -> Rate:
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
    skill = np.array([[stage.value in helper.skills for stage in STAGES] for helper in inputs.helpers], dtype=np.bool_)
    skill = skill.reshape(len(inputs.helpers), STAGE_COUNT)
    pauses = Pauses() if stop_at_limit else learned.pauses  # the day plan asks people to come when they said
    shifts = [_likely(helper, inputs.as_of, pauses) for helper in inputs.helpers]
    back = np.array([bool(own) for own in shifts], dtype=np.bool_)
    assigned = _assigned(inputs, skill, back)
    channels, chain, segment_channels = _chains(inputs)
    jobs, job_after = _jobs(inputs)
    own = _starts(_counts(assigned, len(skill)))
    return BuildArrays(
        segments=_segments(inputs, assigned, _owners(inputs, back)),
        helpers=_helpers(inputs, learned, skill, _starts([len(own) for own in shifts]), own),
        shifts=_shifts(inputs, shifts),
        channels=channels,
        chain=chain,
        segment_channels=segment_channels,
        jobs=jobs,
        job_skill=_job_skill(inputs),
        job_after=job_after,
        stages=_stages(inputs),
        own=int(own[-1]),
        stop_at_limit=stop_at_limit,
    )


def reassigned(arrays: BuildArrays, inputs: ForecastInput) -> BuildArrays:
    """The arrays of an input in which nothing differs but whose the segments are."""
    segments, helpers = arrays.segments.copy(), arrays.helpers.copy()
    assigned = _assigned(inputs, helpers["skill"] == 1, helpers["shift_from"] < helpers["shift_to"])
    own = _starts(_counts(assigned, len(helpers)))
    segments["assigned"] = assigned
    helpers["own_from"], helpers["own_to"] = own[:-1], own[1:]
    return arrays._replace(segments=segments, helpers=helpers, own=int(own[-1]))


def _likely(helper: Helper, as_of: float, pauses: Pauses) -> tuple[ShiftInput, ...]:
    """The shifts to come, from when the crew usually begins to when it usually stops; what has begun has begun."""
    likely = []
    for shift in shifts_to_come(helper, as_of):
        start = shift.start + (pauses.late if shift.start > as_of else 0.0)
        if start < shift.end - pauses.early:
            likely.append(ShiftInput(start, shift.end - pauses.early, shift.day))
    return tuple(likely)


def _segments(inputs: ForecastInput, assigned: I8, owners: I8) -> Records:
    records = np.zeros(len(inputs.segments), SEGMENT)
    records["owner"], records["assigned"] = owners, assigned
    first = _starts([len(segment.runs) for segment in inputs.segments])
    records["channels_from"], records["channels_to"] = first[:-1], first[1:]
    for record, segment in zip(records, inputs.segments, strict=True):
        record["number"] = zlib.crc32(segment.code.encode())
        record["closing"], record["open_faults"] = segment.closing, segment.open_faults
        record["people_needed"] = segment.hands
        for stage in range(STAGE_COUNT):
            record["before"][stage] = _neighbour(stage_before, stage, segment.closing)
            record["after"][stage] = _neighbour(stage_after, stage, segment.closing)
            record["left"][stage] = record["initial"][stage] = segment.left(stage)
            record["log_size"][stage] = segment.size(stage, inputs.usual_pixels)
    return records


def _counts(assigned: I8, crew: int) -> list[int]:
    """How many segments are assigned to each helper."""
    return [int((assigned == number).any(axis=1).sum()) for number in range(crew)]


def _helpers(inputs: ForecastInput, learned: Learned, skill: B1, shift_from: I8, own: I8) -> Records:
    records, today = np.zeros(len(inputs.helpers), HELPER), local_day(inputs.as_of, inputs.time_zone)
    records["skill"] = skill
    records["shift_from"], records["shift_to"] = shift_from[:-1], shift_from[1:]
    records["shift"] = records["shift_from"] - 1
    records["own_from"], records["own_to"] = own[:-1], own[1:]
    for field in ("day", "held", "mending_segment", "next_mate"):
        records[field] = -1
    records["team"] = 1
    records["populate_limit"] = [_limit(helper.populate_limit_h) for helper in inputs.helpers]
    records["populated"] = worked_on(inputs, today, STAGES[POPULATE].value)
    records["worked"] = worked_on(inputs, today, None)
    records["practice"] = learned.observations.practice[: len(records)]
    return records


def _shifts(inputs: ForecastInput, shifts: Sequence[Sequence[ShiftInput]]) -> Records:
    today, known = local_day(inputs.as_of, inputs.time_zone), known_days(inputs)
    rows = [
        (shift.start - inputs.as_of, shift.end - inputs.as_of, shift.day - today, (number, shift.day) in known)
        for number, own in enumerate(shifts)
        for shift in own
    ]
    return np.array(rows, SHIFT)


def _stages(inputs: ForecastInput) -> Records:
    rows = zip(PRACTICE_UNIT, SMALL_UNITS, (_limit(limit) for limit in inputs.people), strict=True)
    return np.array(list(rows), STAGE_GIVEN)


def _limit(hours: float | int | None) -> float:
    return math.inf if hours is None else hours


def _neighbour(step: Callable[[Stage, bool], Stage | None], stage: int, closing: bool) -> int:
    neighbour = step(STAGES[stage], closing)
    return -1 if neighbour is None else neighbour.number


def _starts(counts: Sequence[int]) -> I8:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)


def _chains(inputs: ForecastInput) -> tuple[Records, I8, I8]:
    """Channels as stretches of the chain, the chain, and the channels by segment."""
    runs = sorted(
        (run.channel, run.place, number) for number, segment in enumerate(inputs.segments) for run in segment.runs
    )
    channels = sorted({channel for channel, _, _ in runs})
    counts = Counter(channel for channel, _, _ in runs)
    rank = {channel: number for number, channel in enumerate(channels)}
    chain_from = _starts([counts[channel] for channel in channels])
    records = np.zeros(len(channels), CHANNEL)
    records["chain_from"], records["chain_to"], records["reach"] = chain_from[:-1], chain_from[1:], chain_from[:-1]
    chain = [number for _, _, number in runs]
    of_segment = [rank[run.channel] for segment in inputs.segments for run in segment.runs]
    return records, np.array(chain, dtype=np.int64), np.array(of_segment, dtype=np.int64)


def _assigned(inputs: ForecastInput, skill: B1, back: B1) -> I8:
    """Whose a segment is at each stage; nobody's where that helper lacks the skill or is not there for long enough."""
    short = overassigned(inputs)
    table = np.full((len(inputs.segments), STAGE_COUNT), -1, dtype=np.int64)
    for number, segment in enumerate(inputs.segments):
        who = segment.assigned
        if who is not None and who not in short and back[who]:
            table[number, skill[who]] = who
    return table


def _owners(inputs: ForecastInput, back: B1) -> I8:
    """Who began what is begun and not finished, and will be there again."""
    table = np.full((len(inputs.segments), STAGE_COUNT), -1, dtype=np.int64)
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


def _jobs(inputs: ForecastInput) -> tuple[Records, I8]:
    """The jobs, and their predecessors."""
    jobs = inputs.jobs
    names = {job.name: number for number, job in enumerate(jobs)}
    names |= {stage.value: len(jobs) + number for number, stage in enumerate(STAGES)}
    after = [[names[name] for name in job.after] for job in jobs]
    first = _starts([len(own) for own in after])
    records = np.zeros(len(jobs), JOB_STATE)
    records["people_needed"] = [job.hands for job in jobs]
    records["after_from"], records["after_to"] = first[:-1], first[1:]
    return records, np.array([name for own in after for name in own], dtype=np.int64)
