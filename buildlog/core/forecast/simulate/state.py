"""The arrays that the compiled trials read and write: the input, what is drawn for each trial, one trial's state.

Few arrays of wide records, since every array handed to a compiled step costs time.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from buildlog.core.forecast.simulate.records import F8, I8, LOGGED, RESULT, Records


class BuildArrays(NamedTuple):
    """The input of all trials. S segments, H helpers, J jobs, C channels, R runs."""

    segments: Records  # S of SEGMENT
    helpers: Records  # H of HELPER
    shifts: Records  # of SHIFT, helper by helper
    channels: Records  # C of CHANNEL
    chain: I8  # R: segments in the order of the data, channel by channel
    segment_channels: I8  # R: channels, segment by segment
    jobs: Records  # J of JOB_STATE
    job_skill: I8  # J×H flags
    job_after: I8  # 0…J−1 a job, J+stage a stage
    stages: Records  # of STAGE_GIVEN
    own: int  # how many pairs of helper and assigned segment
    stop_at_limit: bool  # stop populating at the limit, or finish the segment first


class Draws(NamedTuple):
    """What is drawn once a trial, for T trials."""

    key: I8  # T
    effort: F8  # T×H×stages log person-hours per unit before practice
    stages: Records  # T×stages of STAGE_DRAW
    attendance: F8  # T×H normal score below which a day is one on which they come
    days_left: F8  # T×H promised days before they leave for good
    once: Records  # T of ONCE
    job_hours: F8  # T×J person-hours


class Trial(NamedTuple):
    """The state of one trial; what has no comment is as in BuildArrays."""

    segments: Records
    helpers: Records
    queue: I8  # H: the heap of helpers by the time of their next event
    shifts: Records
    channels: Records
    chain: I8
    segment_channels: I8
    jobs: Records
    job_skill: I8
    job_after: I8
    stages: Records  # of STAGE_STATE
    heap: I8  # all heaps of whole numbers one after the other: see heaps.py
    common: Records  # one of COMMON: what belongs to no segment, helper or stage alone


def no_log(room: int = 0) -> Records:
    """A log of LOGGED for so many chunks of work; 0 keeps none."""
    return np.zeros(room, LOGGED)


def no_results(trials: int) -> Records:
    """A RESULT for each trial, to be written."""
    return np.zeros(trials, RESULT)
