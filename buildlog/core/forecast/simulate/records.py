"""The fields of the records that the compiled trials read and write, and the codes in them.

Unless a field says otherwise, times are hours after as-of, lengths of time hours, flags 0 or 1, and a number that
points into another array is −1 where there is none.

An item of work is one number, ``kind + CODES·number``: the kind is a stage, JOB or MEND; the number is that of the
segment or of the job, 0 for MEND.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from buildlog.core.work.stages import STAGE_COUNT

F8 = npt.NDArray[np.float64]
I8 = npt.NDArray[np.int64]
B1 = npt.NDArray[np.bool_]
Field = tuple[str, type[np.generic]] | tuple[str, type[np.generic], int | tuple[int, int]]
Records = npt.NDArray[np.void]

JOB, MEND = STAGE_COUNT, STAGE_COUNT + 1  # kinds of work after the stages; MEND: rework
KINDS = STAGE_COUNT + 2
CODES = 8
AWAY, IDLE, BUSY, MATE, GATHERING = range(5)  # a helper's state; MATE: busy in the team of another helper
NOTHING_OPEN, AT_LIMIT = STAGE_COUNT, STAGE_COUNT + 1  # why somebody is idle; a stage: no room at it
REASONS = STAGE_COUNT + 2
HEAPS = 2 * STAGE_COUNT  # heaps of open segments: by stage those for one person, then by stage those for several
TEAM = 8  # people who work on an item together, at most: as many as an input may ask for
TINY = 1e-9


def _record(fields: list[Field]) -> np.dtype[np.void]:
    """Records whose fields are attributes, where they are not compiled too."""
    return np.dtype((np.record, fields))


SEGMENT = _record(
    [
        ("number", np.int64),  # of its own, whatever the order: what its chance hangs on
        ("closing", np.int64),  # flag
        ("open_faults", np.int64),  # found before as-of and not mended
        ("channels_from", np.int64),  # its channels are segment_channels[channels_from:channels_to]
        ("channels_to", np.int64),
        ("reached", np.int64),  # how many of them carry data as far as this segment
        ("before", np.int64, STAGE_COUNT),  # the stage before each
        ("after", np.int64, STAGE_COUNT),  # the stage after each
        ("people_needed", np.int64, STAGE_COUNT),
        ("owner", np.int64, STAGE_COUNT),  # the helper who began it before as-of
        ("assigned", np.int64, STAGE_COUNT),  # the helper it is assigned to
        ("begun", np.int64, STAGE_COUNT),  # flag
        ("next_held", np.int64, STAGE_COUNT),  # the item that its holder goes on with after it
        ("left", np.float64, STAGE_COUNT),  # units
        ("initial", np.float64, STAGE_COUNT),  # units left at as-of
        ("log_size", np.float64, STAGE_COUNT),  # log of all its units against a usual segment's
    ]
)
HELPER = _record(
    [
        ("skill", np.int64, STAGE_COUNT),  # flag
        ("shift_from", np.int64),  # their shifts are shifts[shift_from:shift_to]
        ("shift_to", np.int64),
        ("own_from", np.int64),  # assigned segments of all helpers are counted through: theirs lie between these
        ("own_to", np.int64),
        ("populate_limit", np.float64),  # hours a day
        ("state", np.int64),
        ("shift", np.int64),  # the current one, or the next
        ("day", np.int64),  # local day of the last shift, 0 = that of as-of
        ("until", np.float64),  # the end of the shift
        ("next_event", np.float64),  # when something happens to them next
        ("place", np.int64),  # theirs in the queue of events
        ("kind", np.int64),  # of the item at work, or gathered for
        ("work", np.int64),  # its number
        ("team", np.int64),  # people at it; while idle: 0 = nothing done in this shift so far
        ("next_mate", np.int64),  # the next helper of the team
        ("since", np.float64),  # when this state began
        ("pace", np.float64),  # units per hour of the team
        ("idle_reason", np.int64),
        ("held", np.int64),  # the item begun last, to go on with
        ("mending", np.float64),  # person-hours of rework before them
        ("mending_segment", np.int64),  # where it is; −1: a fault that was open at as-of
        ("own_count", np.int64, HEAPS),  # open segments in each heap of their own
        ("in_idle", np.int64, STAGE_COUNT),  # flag: is in the heap of those who wait for work at a stage
        ("in_blocked", np.int64, STAGE_COUNT),  # flag: is in the heap of those who wait for room at a stage
        ("looks", np.int64),  # flag: is in the heap of those who look for work next
        ("short_of_people", np.int64),  # flag: waits for more people, or for room for several
        ("populated", np.float64),  # hours today
        ("worked", np.float64),  # hours today
        ("practice", np.float64, STAGE_COUNT),  # units so far
        ("effort", np.float64, STAGE_COUNT),  # log person-hours per unit before practice
        ("day_effect", np.float64),  # normal score of the day: how fast they are on it
        ("attendance", np.float64),  # normal score below which a day is one on which they come
        ("days_left", np.float64),  # promised days before they leave for good
        ("path", np.float64, KINDS),  # hours by kind on the longest chain of waiting up to now
    ]
)
SHIFT = _record(
    [
        ("start", np.float64),
        ("end", np.float64),
        ("day", np.int64),  # local day, 0 = that of as-of
        ("known", np.int64),  # flag: the helper has been seen on that day
    ]
)
CHANNEL = _record([("chain_from", np.int64), ("chain_to", np.int64), ("reach", np.int64)])  # chain[reach:] has no data
JOB_STATE = _record(
    [
        ("people_needed", np.int64),
        ("after_from", np.int64),  # it comes after job_after[after_from:after_to]
        ("after_to", np.int64),
        ("waits_for", np.int64),  # how many of them are not done
        ("busy", np.int64),  # flag
        ("left", np.float64),  # person-hours
        ("initial", np.float64),  # person-hours at as-of
    ]
)
STAGE_STATE = _record(
    [
        ("practice_unit", np.float64),  # units
        ("small_units", np.float64),  # units
        ("people_limit", np.float64),  # how many fit at once, inf = no limit
        ("curve", np.float64),  # log effort by log practice
        ("growth", np.float64),  # log effort by log size
        ("fatigue", np.float64),  # log effort by hour worked today
        ("sigma", np.float64),  # spread of log effort of a segment
        ("omega", np.float64),  # and of a helper's day
        ("left", np.int64),  # segments
        ("active", np.int64),  # people at it, or gathering for it
        ("on_shift", np.int64),  # people there who have the skill
        ("head", np.int64),  # no segment before this one is still to begin
        ("idle_count", np.int64),  # helpers in the heap of those who wait for work
        ("blocked_count", np.int64),  # helpers in the heap of those who wait for room
    ]
)
COMMON = _record(
    [
        ("key", np.int64),  # of the trial's chance
        ("keeps", np.int64),  # flag: begun work waits for whoever began it
        ("in_order", np.int64),  # flag: segments are begun in order
        ("stop_at_limit", np.int64),  # flag: populating stops at the limit, not at the segment's end
        ("todo", np.int64),  # segments by stage, jobs and faults that are left
        ("jobs_left", np.int64),
        ("before_closing", np.int64),  # segments and faults that need the way in
        ("old_faults", np.int64),  # open at as-of, and nobody at them
        ("abandoned_faults", np.int64),  # whoever was at them has left for good
        ("ready_count", np.int64, HEAPS),  # open segments in each heap of everybody's
        ("lookers", np.int64),  # helpers in the heap of those who look for work next
        ("short_count", np.int64),  # helpers who wait for more people
        ("searched", np.int64),  # a bit a stage: somebody just looked for work at it in vain
        ("gathering", np.int64, KINDS),  # the segment or job for which a team gathers
        ("gathered", np.int64, KINDS),  # how many have
        ("members", np.int64, (KINDS, TEAM)),  # who
        ("logged", np.int64),
        ("failure_rate", np.float64),  # share of tests that fail
        ("mend_centre", np.float64),  # log person-hours of rework
        ("mend_spread", np.float64),
        ("pause", np.float64),  # hours between two items
        ("own_part", np.float64),  # of a helper's attendance score that is their own doing
        ("shared_part", np.float64),  # and that is the day's; the squares of the two add up to 1
        ("hours", np.float64, KINDS),  # person-hours so far
        ("waited", np.float64, REASONS),  # person-hours so far
    ]
)
ONCE = _record(
    [
        ("failure_rate", np.float64),
        ("mend_centre", np.float64),
        ("mend_spread", np.float64),
        ("keeps", np.int64),
        ("in_order", np.int64),
        ("pause", np.float64),
        ("shared_part", np.float64),  # share of the variance of attendance that is the day's doing
    ]
)
STAGE_DRAW = _record([(name, np.float64) for name in ("curve", "growth", "fatigue", "sigma", "omega")])
STAGE_GIVEN = _record([(name, np.float64) for name in ("practice_unit", "small_units", "people_limit")])
LOGGED = _record(
    [
        ("helper", np.int64),
        ("kind", np.int64),
        ("work", np.int64),
        ("start", np.float64),
        ("end", np.float64),
        ("units", np.float64),  # this helper's share
    ]
)
RESULT = _record(
    [
        ("finish", np.float64),  # inf = never
        ("missing", np.float64),  # person-hours still to find
        ("hours", np.float64, KINDS),  # person-hours by kind
        ("path", np.float64, KINDS),  # hours by kind on the longest chain of waiting
        ("waited", np.float64, REASONS),  # person-hours by reason
    ]
)
