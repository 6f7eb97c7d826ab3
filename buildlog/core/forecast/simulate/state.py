"""The arrays that the compiled trials read and write: the input, the luck drawn for each trial, one trial's state.

Few and wide tables, since every array handed to a compiled step costs time; the columns have names here.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

F8 = npt.NDArray[np.float64]
I8 = npt.NDArray[np.int64]
B1 = npt.NDArray[np.bool_]

JOB, MEND = 4, 5  # kinds of work after the four stages
KINDS = 6
AWAY, IDLE, BUSY, MATE, GATHERING = 0, 1, 2, 3, 4
NOTHING_OPEN, AT_LIMIT, REASONS = 4, 5, 6  # why somebody waits; 0…3 = no room at that stage


class BuildArrays(NamedTuple):
    """The input; times in hours after as-of. S segments, H helpers, J jobs, C channels, R runs."""

    seg: I8  # the tables of a trial as it begins, see there
    left: F8
    who: I8
    at: F8
    shift: F8  # ×(start, end, day, known to be there)
    chan: I8
    run: I8
    job: F8
    job_skill: I8  # J×H
    job_after: I8  # 0…J−1 a job, J+stage a stage
    stage: F8  # 4×(practice unit, small units, people who fit)
    assigned: int  # how many pairs of segment and helper
    stop_at_limit: bool  # stop populating at the limit, or finish the segment first


class Draws(NamedTuple):
    """One row a trial: what is drawn once a trial."""

    key: I8
    effort: F8  # T×H×4 log effort before practice
    stage: F8  # T×4×(curve, growth, tiring, sigma, omega)
    comes: F8  # T×H normal score below which a day is one on which they come
    leaves: F8  # T×H promised days before they leave for good
    once: F8  # T×(tests that fail, centre and spread of mending, begun work kept, in order, pause, the day's part)
    job_hours: F8  # T×J


class Trial(NamedTuple):
    """The state of one trial."""

    seg: I8  # S×SEG_COLUMNS
    left: F8  # S×(left, whole, size by stage)
    who: I8  # H×WHO_COLUMNS
    at: F8  # H×AT_COLUMNS
    shift: F8
    chan: I8  # C×(from, to, how far data reaches)
    run: I8  # R×(segments in the order of the data, channels of each segment)
    job: F8  # J×JOB_COLUMNS
    job_skill: I8
    job_after: I8
    heap: I8  # all heaps one after the other
    num: I8  # counters
    tot: F8  # sums and what holds for the whole trial


class Log(NamedTuple):
    """Who did what when, written only when there is room."""

    what: I8  # ×(helper, kind, segment or job)
    time: F8  # ×(start, end, units)


def no_log(room: int = 0) -> Log:
    """A log for so many chunks of work; 0 keeps none."""
    return Log(np.zeros((room, 3), dtype=np.int64), np.zeros((room, 3)))


# seg: the first ones by stage (name + stage), −1 for none
BEFORE, AFTER, HANDS, OWNER, ASSIGNED = 0, 4, 8, 12, 16
CLOSING, FAULTS, OF_FROM, OF_TO = 20, 21, 22, 23
BEGUN, NEXT, REACHED, NUMBER, SEG_COLUMNS = 24, 28, 32, 33, 34  # NUMBER: of its own, whatever the order
WHOLE, SIZE = 4, 8  # size: log of the units against a usual segment
FROM, TO, REACH = 0, 1, 2
CHAIN, OF_CHANNEL = 0, 1

# who
SKILL, SHIFT_FROM, SHIFT_TO, ROOM, ROOM_TO = 0, 4, 5, 6, 7
STATE, SHIFT, DAY, HELD, MEND_AT, QUEUE, PLACE, WORK, KIND, TEAM, MATE_OF, WHY = range(8, 20)
OWN_N, IN_IDLE, IN_BLOCKED, LOOKS, SHORT, WHO_COLUMNS = 20, 28, 32, 36, 37, 38  # OWN_N: 8; SHORT: of hands

# at
LIMIT, USED, PRACTICE, PATH, EFFORT, AT_COLUMNS = 0, 1, 2, 6, 12, 25
UNTIL, MENDING, WHEN, SINCE, PACE, DAY_FORM, COMES_SCORE, WORKED, STAYS = range(16, 25)

START, END, DAY_OF, KNOWN = 0, 1, 2, 3
JOB_HANDS, JOB_FROM, JOB_TO, JOB_LEFT, JOB_WHOLE, JOB_WAIT, JOB_BUSY, JOB_COLUMNS = range(8)

# num
TODO, OPEN, LOOKERS, POOL, LOGGED, JOBS_LEFT, KEY, KEEP, IN_ORDER, STOP, FAILED = range(11)
READY_N, IDLE_N, BLOCKED_N, HEAD, ACTIVE, ON_SHIFT, STAGE_LEFT = 11, 19, 23, 27, 31, 35, 39  # READY_N: 8
GATHER, GATHER_N, MEMBERS, FORSAKEN, SHORT_N, COUNTERS = 43, 48, 53, 93, 94, 95  # MEMBERS + 8·kind; FORSAKEN: faults

# tot: person-hours by kind, idle hours by reason, then ROW a stage, then what holds once
WAITED, BY_STAGE, ROW, FAIL, MEND_CENTRE, MEND_SPREAD = 6, 12, 8, 44, 45, 46
PAUSE, OWN_PART, DAY_PART, TOTALS = 47, 48, 49, 50
UNIT, SMALL, PEOPLE, CURVE, GROWTH, TIRING, SIGMA, OMEGA = range(8)

TINY = 1e-9
