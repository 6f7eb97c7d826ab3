"""The part of a shift in which nobody works though there is work: coming late, going early, pauses between stints.

Hours of work are counted without it, dates are not: a crew that talks ten minutes an hour ends a day later each week.
Only idle time with work open counts; what waits for others is played by the trials. All means are drawn towards none.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from buildlog.core.forecast.input import ForecastInput, Helper, ShiftInput, StintInput
from buildlog.core.forecast.learn.observations import OVERRUN_H
from buildlog.core.forecast.learn.open_work import OpenWork
from buildlog.core.work.stages import POPULATE, STAGES

NONE_SEEN = 10.0  # how many pauses of no length the belief before the log is worth
NONE_LATE = 3.0  # and how many days without coming late or going early
LONGEST_H = 1.5  # more than this is not a pause but something else


@dataclass(frozen=True, slots=True)
class Pauses:
    """Means [h]: from the shift's start to the first stint, from one stint to the next, from the last to the end."""

    late: float = 0.0
    between: float = 0.0
    early: float = 0.0


def pauses_of(inputs: ForecastInput) -> Pauses:
    """From the log, over the whole crew."""
    idle = _IdleSpells(inputs, OpenWork(inputs))
    own: dict[int, list[StintInput]] = defaultdict(list)
    for stint in inputs.stints:
        for number in stint.helpers:
            own[number].append(stint)
    for number, stints in own.items():
        for shift, inside in _by_shift(inputs.helpers[number], stints):
            idle.take(inputs.helpers[number], shift, inside)
    return Pauses(_mean(idle.late, NONE_LATE), _mean(idle.between, NONE_SEEN), _mean(idle.early, NONE_LATE))


def _mean(lengths: list[float], none: float) -> float:
    return sum(lengths) / (len(lengths) + none)


def _by_shift(helper: Helper, stints: list[StintInput]) -> Iterator[tuple[ShiftInput, list[StintInput]]]:
    """The stints of a helper by the shift in which they began, in order."""
    shifts = sorted(helper.shifts, key=lambda shift: shift.start)
    starts = [shift.start - OVERRUN_H for shift in shifts]
    inside: dict[int, list[StintInput]] = defaultdict(list)
    for stint in sorted(stints, key=lambda stint: (stint.start, stint.end)):
        at = bisect_right(starts, stint.start) - 1
        if at >= 0 and stint.start < shifts[at].end:
            inside[at].append(stint)
    for at, some in inside.items():
        yield shifts[at], some


@dataclass
class _IdleSpells:
    """Idle spells with work open, as they turn up."""

    inputs: ForecastInput
    open: OpenWork
    late: list[float] = field(default_factory=list)
    between: list[float] = field(default_factory=list)
    early: list[float] = field(default_factory=list)
    _populated: dict[tuple[str, int], float] = field(default_factory=dict)

    def take(self, helper: Helper, shift: ShiftInput, stints: list[StintInput]) -> None:
        """One shift of one helper."""
        key, after = (helper.name, shift.day), shift.start
        for number, stint in enumerate(stints):
            limit = self._populated.get(key, 0.0)
            if self.open.to(helper, min(after, stint.start), limit):
                pause = min(LONGEST_H, max(0.0, stint.start - after) + stint.break_h)
                (self.between if number else self.late).append(pause)
            if stint.work == STAGES[POPULATE].value:
                self._populated[key] = limit + max(0.0, min(stint.end, shift.end) - stint.start - stint.break_h)
            after = max(after, stint.end)
        if shift.end <= self.inputs.as_of and self.open.to(
            helper, min(after, shift.end), self._populated.get(key, 0.0)
        ):
            self.early.append(min(LONGEST_H, max(0.0, shift.end - after)))
