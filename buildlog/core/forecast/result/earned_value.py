"""Earned value and earned schedule, for those who report in them.

Formulas: GAO-20-195G, Cost Estimating and Assessment Guide, chapters on earned value management; W. Lipke, Schedule is
different, The Measurable News, March 2003. Every amount has the same unit; here it is person-hours, but money will do.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Earned:
    """Where the work stands against its plan at one moment. Amounts in any one unit.

    ``budget`` BAC, all work as planned; ``planned`` PV, what should be done by now; ``earned`` EV, what is done, as
    planned; ``spent`` AC, what that took. Ratios are None where there is nothing to divide by.
    Raises Refused for amounts below 0 or not finite, a budget of 0, and more planned or earned than the budget.

    >>> Earned(budget=100, planned=55, earned=50, spent=45).at_completion
    90.0
    """

    budget: float
    planned: float
    earned: float
    spent: float

    def __post_init__(self) -> None:
        problems = tuple(_amount_problems(self))
        if problems:
            raise Refused(problems)

    @property
    def left(self) -> float:
        """Work left, as planned: BAC − EV."""
        return self.budget - self.earned

    @property
    def cost_index(self) -> float | None:
        """CPI = EV ÷ AC."""
        return _ratio(self.earned, self.spent)

    @property
    def schedule_index(self) -> float | None:
        """SPI = EV ÷ PV."""
        return _ratio(self.earned, self.planned)

    @property
    def at_completion(self) -> float | None:
        """EAC when the rest goes as it went so far: BAC ÷ CPI. None while nothing is earned."""
        return _ratio(self.budget * self.spent, self.earned)

    @property
    def at_completion_as_planned(self) -> float:
        """EAC when the rest goes as planned: AC + (BAC − EV)."""
        return self.spent + self.left

    @property
    def at_completion_both(self) -> float | None:
        """EAC when cost and lateness both go on: AC + (BAC − EV) ÷ (CPI·SPI)."""
        if self.cost_index is None or self.schedule_index is None:
            return None
        rest = _ratio(self.left, self.cost_index * self.schedule_index)
        return None if rest is None else self.spent + rest

    @property
    def variance_at_completion(self) -> float | None:
        """VAC = BAC − EAC."""
        return None if self.at_completion is None else self.budget - self.at_completion

    @property
    def to_complete(self) -> float | None:
        """TCPI to the budget: (BAC − EV) ÷ (BAC − AC). None when the budget is spent."""
        return _ratio(self.left, self.budget - self.spent)

    @property
    def percent_done(self) -> float:
        return 100.0 * self.earned / self.budget


@dataclass(frozen=True, slots=True)
class EarnedSchedule:
    """Lateness in time rather than in work: when should what is earned have been earned?

    ``plan`` are points (time, cumulative PV), both rising from (0, 0); the last one is the whole budget at the planned
    duration. ``earned`` is EV, ``now`` the time that has passed (AT), in the unit of the plan's times.
    Raises Refused for a plan that falls, has under two points or does not begin at (0, 0), and for amounts outside it.
    """

    plan: Curve
    earned: float
    now: float

    def __post_init__(self) -> None:
        problems = tuple(_schedule_problems(self))
        if problems:
            raise Refused(problems)

    @property
    def duration(self) -> float:
        """PD: the time in which the plan has everything done."""
        return self.plan[-1][0]

    @property
    def time_earned(self) -> float:
        """ES = C + (EV − PV_C) ÷ (PV_C+1 − PV_C), C the last time by which no more was planned than is earned."""
        last = bisect_right([planned for _, planned in self.plan], self.earned) - 1
        time, planned = self.plan[last]
        if last == len(self.plan) - 1:
            return time
        later, more = self.plan[last + 1]
        return time + (later - time) * (self.earned - planned) / (more - planned)

    @property
    def time_index(self) -> float | None:
        """SPI(t) = ES ÷ AT."""
        return _ratio(self.time_earned, self.now)

    @property
    def duration_at_completion(self) -> float | None:
        """IEAC(t) = PD ÷ SPI(t): the whole duration if it goes on like this."""
        return _ratio(self.duration * self.now, self.time_earned)


def _ratio(amount: float, by: float) -> float | None:
    return amount / by if by > 0 else None


def _amount_problems(amounts: Earned) -> Iterator[Problem]:
    for name in ("budget", "planned", "earned", "spent"):
        amount = getattr(amounts, name)
        if not (math.isfinite(amount) and amount >= 0):
            yield Problem(_("Found {amount}: give 0 or more."), name, amount=amount)
    if amounts.budget == 0:
        yield Problem(_("The budget is 0: there is no work to value."), "budget")
    for name in ("planned", "earned"):
        if getattr(amounts, name) > amounts.budget:
            yield Problem(
                _("Found {amount}: no more than the budget of {budget}."),
                name,
                amount=getattr(amounts, name),
                budget=amounts.budget,
            )


def _schedule_problems(schedule: EarnedSchedule) -> Iterator[Problem]:
    plan = schedule.plan
    if len(plan) < 2 or any(plan[0]):
        yield Problem(_("A plan has two points or more and begins with nothing planned at time 0."), "plan")
        return
    steps = zip(plan, plan[1:], strict=False)
    if any(later <= time or more < planned for (time, planned), (later, more) in steps):
        yield Problem(_("In a plan, times rise from point to point and the work planned never falls."), "plan")
    if not 0 <= schedule.earned <= plan[-1][1]:
        yield Problem(
            _("Found {earned}: give 0 to {plan}, all that is planned."),
            "earned",
            earned=schedule.earned,
            plan=plan[-1][1],
        )
    if not (math.isfinite(schedule.now) and schedule.now >= 0):
        yield Problem(_("Found {now}: the time that has passed is 0 or more."), "now", now=schedule.now)
