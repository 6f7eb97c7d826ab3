"""The arrays that the compiled trials read and write: the world, one trial's luck, and the state of a trial.

A few wide tables, since every array that is passed to a compiled step costs time; the columns have names here.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

F8 = npt.NDArray[np.float64]
I8 = npt.NDArray[np.int64]

JOB, MEND = 4, 5  # kinds of work after the four stages
KINDS = 6
AWAY, IDLE, BUSY, MATE, GATHERING = 0, 1, 2, 3, 4
MOST_HANDS = 8


class Scene(NamedTuple):
    """The world; times in hours after as-of. S segments, H helpers, J jobs, C channels."""

    left: F8  # S×4 units of work left
    seg: I8  # S×SEG_COLUMNS
    chain_from: I8  # C+1
    chain: I8  # segments in the order in which data passes
    of_channel: I8  # channels of each segment, a run each
    crew: I8  # H×CREW_COLUMNS
    crew_hours: F8  # H×(limit, used, practice by stage)
    shift: F8  # ×(start, end, day, known to be there)
    stage: F8  # 4×(practice unit, small units, people who fit)
    job: I8  # J×(hands, from, to)
    job_skill: I8  # J×H
    job_after: I8  # 0…J−1 a job, J+stage a stage
    stop_at_limit: bool  # stop populating at the limit, or finish the segment first


BEFORE, AFTER, HANDS, OWNER, ASSIGNED = 0, 4, 8, 12, 16  # each + stage; −1 for none
CLOSING, FAULTS, OF_FROM, OF_TO, SEG_COLUMNS = 20, 21, 22, 23, 24
SKILL, SHIFT_FROM, SHIFT_TO, ROOM, ROOM_TO, CREW_COLUMNS = 0, 4, 5, 6, 7, 8  # SKILL + stage
LIMIT, USED_BEFORE, PRACTISED = 0, 1, 2  # PRACTISED + stage
START, END, DAY_OF, KNOWN = 0, 1, 2, 3
UNIT, SMALL, PEOPLE = 0, 1, 2
JOB_HANDS, JOB_FROM, JOB_TO = 0, 1, 2


class Luck(NamedTuple):
    """One row a trial: what is drawn once a trial."""

    key: I8
    effort: F8  # T×H×4 log effort before practice
    stage: F8  # T×4×(curve, sigma, omega)
    comes: F8  # T×H
    once: F8  # T×(share of tests that fail, centre and spread of mending, begun work kept, in order)
    job_hours: F8  # T×J


CURVE, SIGMA, OMEGA = 0, 1, 2
FAIL, MEND_CENTRE, MEND_SPREAD, KEEP, IN_ORDER = 0, 1, 2, 3, 4


class Trial(NamedTuple):
    """The state of one trial."""

    left: F8  # S×4
    seg: I8  # S×(begun by stage, next held by stage, runs reached)
    reach: I8  # C how far data reaches on a channel
    heap: I8  # all heaps, one after the other: see the bases below
    who: I8  # H×WHO_COLUMNS
    at: F8  # H×AT_COLUMNS
    job: F8  # J×(left, waits for, busy)
    num: I8  # counters
    hours: F8  # person-hours by kind, then idle hours by reason


BEGUN, NEXT, REACHED, STATE_COLUMNS = 0, 4, 8, 9
(STATE, SHIFT, DAY, HELD, MEND_AT, QUEUE, PLACE, WORK, KIND, TEAM, MATE_OF, WHY) = range(12)
OWN_N, IN_IDLE, IN_BLOCKED, WHO_COLUMNS = 12, 16, 20, 24  # each + stage
UNTIL, USED, MENDING, WHEN, SINCE, PACE, PRACTICE, PATH, AT_COLUMNS = 0, 1, 2, 3, 4, 5, 6, 10, 16
JOB_LEFT, JOB_WAIT, JOB_BUSY = 0, 1, 2
TODO, OPEN, NUDGES, POOL, LOGGED, JOBS_LEFT = 0, 1, 2, 3, 4, 5
READY_N, IDLE_N, BLOCKED_N, HEAD, ACTIVE, ON_SHIFT, STAGE_LEFT = 6, 14, 18, 22, 26, 30, 34  # READY_N: 8
GATHER, GATHER_N, MEMBERS, COUNTERS = 38, 43, 48, 88  # MEMBERS + 8·kind
REASONS = 6
SPARE = 16


class Log(NamedTuple):
    """Who did what when, written only when there is room."""

    what: I8  # ×(helper, kind, segment or job)
    time: F8  # ×(start, end, units)


def no_log(room: int = 0) -> Log:
    """A log for so many chunks of work; 0 keeps none."""
    return Log(np.zeros((room, 3), dtype=np.int64), np.zeros((room, 3)))
