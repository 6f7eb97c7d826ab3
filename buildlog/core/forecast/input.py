"""What a forecast is made from: the build, the crew and the log as they stood at one moment, checked at birth.

Times are hours since 1970-01-01 00:00 UTC (``hours_of`` and ``moment_of`` convert at the edge). A *day* is a whole
number that is the same for all shifts of one local calendar day (``date.toordinal()`` does). Helpers, segments and
jobs are named by their place in the tuples of the input.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.stages import COUNTED_IN_PIXELS, STAGE_COUNT, STAGES, Stage

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
LONGEST_STINT_H = 12.0
MOST_HANDS = 8


def hours_of(moment: datetime) -> float:
    """An aware datetime as hours since 1970-01-01 00:00 UTC."""
    if moment.tzinfo is None:
        raise Refused(
            Problem(_("The time {moment:%Y-%m-%d %H:%M} has no time zone: give an aware datetime."), moment=moment)
        )
    return (moment.astimezone(UTC) - EPOCH) / timedelta(hours=1)


def moment_of(hours: float) -> datetime:
    """Hours since 1970-01-01 00:00 UTC as a datetime in UTC, to the nearest second."""
    return EPOCH + timedelta(seconds=round(hours * 3600))


@dataclass(frozen=True, slots=True)
class RunInput:
    """A run of a segment: the channel that drives it and its place in that channel's chain (1 = data first)."""

    channel: int
    place: int
    pixels: int


@dataclass(frozen=True, slots=True)
class SegmentInput:
    """A segment as it stands: pixels done at populate, mount, wire, test; whose it is; where data reaches it."""

    code: str
    pixels: int
    done: tuple[int, int, int, int] = (0, 0, 0, 0)
    runs: tuple[RunInput, ...] = ()
    ring: int = 0
    closing: bool = False
    assigned: int | None = None
    hands: tuple[int, int, int, int] = (1, 1, 1, 1)
    open_faults: int = 0

    def units(self, stage: int) -> float:
        """All units of work of the segment at a stage: pixels to populate or mount, runs to wire or test."""
        return float(self.pixels if COUNTED_IN_PIXELS[stage] else max(1, len(self.runs)))

    def size(self, stage: int, usual: float) -> float:
        """Log of the units against a usual segment: of so many pixels, on one channel."""
        return math.log(self.units(stage) / (usual if COUNTED_IN_PIXELS[stage] else 1.0))

    def left(self, stage: int) -> float:
        """Units of work left at a stage."""
        share = 1.0 - min(self.done[stage], self.pixels) / self.pixels
        return self.units(stage) * share


@dataclass(frozen=True, slots=True)
class ShiftInput:
    """A spell in which a helper said they would be there: start and end [h UTC], and the local day it counts for."""

    start: float
    end: float
    day: int


@dataclass(frozen=True, slots=True)
class Helper:
    """Someone of the crew. ``skills`` are stage words or names of jobs; ``shifts`` past and future, any order.

    ``added`` is for what-ifs: somebody who is not in the crew yet, after all who are.
    """

    name: str
    skills: frozenset[str] = frozenset(stage.value for stage in STAGES)
    populate_limit_h: float | None = 3.0
    shifts: tuple[ShiftInput, ...] = ()
    added: bool = False


@dataclass(frozen=True, slots=True)
class StintInput:
    """One spell of work on one segment or job, by one or several helpers.

    ``units`` are pixels that passed the stage in it (0 = rework or set-up). ``confirmed`` is False for one that was
    closed by itself and waits for someone's word: it is kept out of the rates.
    """

    work: str
    helpers: tuple[int, ...]
    start: float
    end: float
    pixels: int = 0
    segment: str = ""
    break_h: float = 0.0
    confirmed: bool = True

    @property
    def person_hours(self) -> float:
        return max(0.0, self.end - self.start - self.break_h) * len(self.helpers)


@dataclass(frozen=True, slots=True)
class DaysTicks:
    """What was ticked on one segment at one stage on one local day, undone and reopened pixels taken off.

    ``last`` [h UTC] is the last of these ticks.
    """

    segment: str
    stage: str
    day: int
    pixels: int
    last: float


@dataclass(frozen=True, slots=True)
class JobInput:
    """Work that belongs to no segment: three estimates [person-hours]; ``after`` names jobs or stages."""

    name: str
    low: float
    likely: float
    high: float
    hands: int = 1
    after: tuple[str, ...] = ()
    done: bool = False


@dataclass(frozen=True, slots=True)
class StandardRates:
    """Rates taken before anything is measured [units per person-hour], and how sure one is of them (``spread``: of the
    log of effort). The build's own where the lead has set them.
    """

    populate: float = float(Stage.POPULATE.facts.rate)
    mount: float = float(Stage.MOUNT.facts.rate)
    wire: float = float(Stage.WIRE.facts.rate)
    test: float = float(Stage.TEST.facts.rate)
    spread: float = 0.30

    def rate(self, stage: int) -> float:
        """Units per person-hour at stage 0…3."""
        return (self.populate, self.mount, self.wire, self.test)[stage]


@dataclass(frozen=True)
class ForecastInput:
    """Everything a forecast knows. Nothing later than ``as_of`` belongs in it, shifts aside.

    ``keeps`` and ``in_order`` say whether begun work waits for whoever began it, and whether a stage waits for its
    next segment in order; None = as the log shows.
    """

    as_of: float
    segments: tuple[SegmentInput, ...]
    helpers: tuple[Helper, ...]
    stints: tuple[StintInput, ...] = ()
    jobs: tuple[JobInput, ...] = ()
    people: tuple[int | None, ...] = tuple(stage.facts.people for stage in STAGES)
    standard: StandardRates = field(default_factory=StandardRates)
    target: float | None = None
    faults_found: int = 0
    rework: bool = True
    keeps: bool | None = None
    in_order: bool | None = None
    build: str = ""
    time_zone: str = "UTC"
    plan_revision: int = 0
    ledger_entries: int = 0

    def __post_init__(self) -> None:
        problems = tuple(_problems(self))
        if problems:
            raise Refused(problems)

    @cached_property
    def place(self) -> dict[str, int]:
        """Where each segment code stands among the segments."""
        return {segment.code: number for number, segment in enumerate(self.segments)}

    @cached_property
    def usual_pixels(self) -> float:
        """Pixels of a usual segment (geometric mean)."""
        logs = [math.log(segment.pixels) for segment in self.segments]
        return math.exp(sum(logs) / len(logs)) if logs else 1.0

    @property
    def pixels(self) -> int:
        return sum(segment.pixels for segment in self.segments)

    def passed(self, stage: int) -> int:
        """Pixels of the whole build that have passed a stage."""
        return sum(min(segment.done[stage], segment.pixels) for segment in self.segments)

    def units_left(self, stage: int) -> float:
        return sum(segment.left(stage) for segment in self.segments)

    @property
    def known(self) -> int:
        """How many of the helpers are in the crew already."""
        return sum(not helper.added for helper in self.helpers)

    @property
    def all_done(self) -> bool:
        left = any(segment.left(stage) > 0 for segment in self.segments for stage in range(STAGE_COUNT))
        return not left and all(job.done for job in self.jobs) and not self.faults_open

    @property
    def faults_open(self) -> int:
        return sum(segment.open_faults for segment in self.segments)


def _problems(inputs: ForecastInput) -> Iterator[Problem]:
    if not math.isfinite(inputs.as_of):
        yield Problem(_("The moment of the forecast is {as_of}: give a date."), "as_of", as_of=inputs.as_of)
    yield from _twice([segment.code for segment in inputs.segments], "segment")
    yield from _twice([job.name for job in inputs.jobs], "job")
    for segment in inputs.segments:
        yield from _segment_problems(segment, len(inputs.helpers))
    for helper in inputs.helpers:
        yield from _helper_problems(helper)
    if any(helper.added for helper in inputs.helpers[: inputs.known]):
        yield Problem(_("Helpers who are added stand after the crew: put them last."), "helpers")
    for stint in inputs.stints:
        yield from _stint_problems(stint, inputs)
    for job in inputs.jobs:
        yield from _job_problems(job, inputs)
    for stage, limit in zip(STAGES, inputs.people, strict=True):
        if limit is not None and limit < 0:
            yield Problem(
                _("People who fit at {stage}: found {limit}, give 0 or more, or no limit."),
                "people",
                stage=stage.value,
                limit=limit,
            )
    if any(inputs.standard.rate(stage) <= 0 for stage in range(STAGE_COUNT)) or not 0 < inputs.standard.spread < 5:
        yield Problem(_("Standard rates are units per person-hour above 0, their spread a share above 0."), "standard")


def _twice(names: list[str], what: str) -> Iterator[Problem]:
    if len(set(names)) < len(names):
        again = sorted({name for name in names if names.count(name) > 1})
        yield Problem(
            _("The {what} {name} is there {times} times: keep one."),
            what,
            what=what,
            name=again[0],
            times=names.count(again[0]),
        )


def _segment_problems(segment: SegmentInput, crew: int) -> Iterator[Problem]:
    if segment.pixels <= 0:
        yield Problem(
            _("{code} has {pixels} pixels: a segment has 1 or more."),
            "pixels",
            code=segment.code,
            pixels=segment.pixels,
        )
    if min(segment.done) < 0:
        yield Problem(
            _("{code} has {done} pixels done: give 0 or more."), "pixels", code=segment.code, done=min(segment.done)
        )
    if segment.assigned is not None and not 0 <= segment.assigned < crew:
        yield Problem(
            _("{code} is assigned to helper number {assigned}, who is not there."),
            "assigned",
            code=segment.code,
            assigned=segment.assigned,
        )
    if not all(1 <= hands <= MOST_HANDS for hands in segment.hands):
        yield Problem(
            _("{code} needs {hands} hands: give 1 to {most} helpers."),
            "hands",
            code=segment.code,
            hands=segment.hands,
            most=MOST_HANDS,
        )


def _helper_problems(helper: Helper) -> Iterator[Problem]:
    for shift in helper.shifts:
        if not (math.isfinite(shift.start) and math.isfinite(shift.end) and shift.end >= shift.start):
            yield Problem(
                _("A shift of {helper} ends before it starts: give the end after the start."), "end", helper=helper.name
            )
    if helper.populate_limit_h is not None and not helper.populate_limit_h >= 0:
        yield Problem(
            _("The populate limit of {helper} is {hours} h: give 0 or more."),
            helper=helper.name,
            hours=helper.populate_limit_h,
        )


def _stint_problems(stint: StintInput, inputs: ForecastInput) -> Iterator[Problem]:
    if not (math.isfinite(stint.start) and math.isfinite(stint.end) and stint.end >= stint.start):
        yield Problem(
            _("A stint on {work} ends before it starts: give the end after the start."), "end", work=stint.work
        )
    if not stint.helpers or not all(0 <= helper < len(inputs.helpers) for helper in stint.helpers):
        yield Problem(_("A stint on {work} names a helper who is not in the crew."), "name", work=stint.work)
    if stint.pixels < 0 or stint.break_h < 0:
        yield Problem(_("A stint on {work} has pixels or a break below 0: give 0 or more."), "pixels", work=stint.work)


def _job_problems(job: JobInput, inputs: ForecastInput) -> Iterator[Problem]:
    if not (0 <= job.low <= job.likely <= job.high and math.isfinite(job.high)):
        yield Problem(
            _("{job}: {low:g}, {likely:g}, {high:g} h are not low ≤ likely ≤ high."),
            "hours_low",
            job=job.name,
            low=job.low,
            likely=job.likely,
            high=job.high,
        )
    if not 1 <= job.hands <= MOST_HANDS:
        yield Problem(
            _("{job} needs {hands} hands: give 1 to {most} helpers."),
            "hands",
            job=job.name,
            hands=job.hands,
            most=MOST_HANDS,
        )
    known = {other.name for other in inputs.jobs} | {stage.value for stage in STAGES}
    for name in job.after:
        if name not in known or name == job.name:
            yield Problem(
                _("{job} comes after {name}, which is no other job and no stage."), "after", job=job.name, name=name
            )
