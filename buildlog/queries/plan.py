"""The Plan screen: what is kept of a build's plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import BallPlan
from buildlog.core.work.ledger import shown
from buildlog.models import Build, Plan
from buildlog.queries.ball_plan import ball_plan


@dataclass(frozen=True)
class KeptPlan:
    """The plan as it is kept: ``parameters`` is None before the first draft."""

    parameters: PlanParameters | None = None
    revision: int = 0
    frozen_at: datetime | None = None
    frozen_by: str = ""
    logged: bool = False  # whether work was logged by it
    row: Plan | None = None

    @cached_property
    def ball(self) -> BallPlan | None:
        """The plan to look at (three queries when it is frozen); None before the first draft."""
        return ball_plan(self.row) if self.row else None

    @property
    def frozen(self) -> bool:
        return self.frozen_at is not None

    @property
    def measured(self) -> tuple[MeasuredRing, ...] | None:
        """The measured ring table that the plan stands on, if it does."""
        return self.parameters.measured if self.parameters else None

    @property
    def may_unfreeze(self) -> bool:
        return self.frozen and not self.logged


def kept_plan(build: Build) -> KeptPlan:
    """The build's plan (one query; three more when it is frozen: who froze it, ledger, stints)."""
    row = Plan.objects.with_wiring().filter(build=build).first()
    if row is None:
        return KeptPlan()
    if not row.frozen:
        return KeptPlan(row.read(), row.revision, row=row)
    line = build.records.filter(verb__in=("freeze plan", "revise plan")).select_related("by").first()
    logged = build.entries.exists() or build.stints.exists()
    frozen_by = str(line.by) if line and line.by else ""
    return KeptPlan(row.read(), row.revision, row.frozen_at, frozen_by, logged, row)


def mounted_of(build: Build) -> dict[str, int]:
    """How many pixels of each segment are mounted (one query)."""
    rows = build.segments.current().values_list("code", "mounted", "pixels")
    return {code: shown(mounted, pixels) for code, mounted, pixels in rows}
