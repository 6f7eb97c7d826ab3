"""What a revised plan would change, and what was ticked on it."""

from __future__ import annotations

from buildlog.core.plan.plan import BallPlan as CorePlan
from buildlog.core.plan.proposal import Proposal
from buildlog.core.plan.revise import revise
from buildlog.core.work.stages import STAGES
from buildlog.models import Build


def proposal_of(build: Build, before: CorePlan, after: CorePlan) -> Proposal:
    """What changes from the plan in force to the other one (one query)."""
    rows = list(build.segments.current())
    counts = {row.code: {s.done: row.standing.count(s) for s in STAGES if row.standing.count(s)} for row in rows}
    ticked = {row.code: max(row.sums.values()) for row in rows}
    return Proposal(revise(before, after, ticked), counts)
