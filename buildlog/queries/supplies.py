"""The store of a build on one day, in a fixed number of queries."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from django.db.models import Min, Q, Sum

from buildlog.core.errors import Refused
from buildlog.core.plan.materials.cutting import CutList, cut_list
from buildlog.core.plan.materials.stock import PopulatePace, StockItem, Store, quantities, stocked
from buildlog.core.plan.materials.supplies import Failures, supplies_of
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.power import power_of
from buildlog.core.work.ledger import LedgerKind, shown
from buildlog.core.work.stages import Stage
from buildlog.models import Build, Plan
from buildlog.queries.ball_plan import ball_plan

LATELY_DAYS = 14
CUT_SECONDS = 2.0


def store_of(build: Build, now: datetime) -> Store | None:
    """What the build takes, has and still needs; None without a plan.

    Four queries: plan, stock, segments, ledger; rings, segments and runs when it is frozen.
    """
    plan = Plan.objects.with_wiring().filter(build=build).first()
    if plan is None:
        return None
    holdings = tuple(row.read() for row in build.holdings.all())
    seen, pace = _so_far(build, now)
    ball = ball_plan(plan)
    made = replace(ball, parameters=stocked(ball.parameters, holdings))
    items = supplies_of(made, power_of(made), _cuts(made), have=_have(made, holdings), seen=seen)
    if any(item.key == "roll" for item in items):  # strap is bought by the roll, then, not by the metre
        items = tuple(item for item in items if item.key != "strap")
    return Store(items, holdings, seen, pace, made.pitch_m, now.astimezone(build.zone).date())


def _have(made: BallPlan, holdings: tuple[StockItem, ...]) -> dict[str, float]:
    """Rolls of another length count as offcuts and not as rolls."""
    rolls = made.parameters.stock.rolls
    return quantities(holdings) | ({} if rolls is None else {"roll": float(rolls)})


def _cuts(made: BallPlan) -> CutList | None:
    """Where a roll is given and long enough."""
    try:
        return cut_list(made, seconds=CUT_SECONDS)
    except Refused:
        return None


def _so_far(build: Build, now: datetime) -> tuple[Failures, PopulatePace]:
    """Pixels tested, replaced (reopened for populating again) and populated, and how many a day lately."""
    rows = list(build.segments.current().values_list(Stage.POPULATE.done, Stage.TEST.done, "pixels"))
    passed_first, passed_last = sum(shown(row[0], row[2]) for row in rows), sum(shown(row[1], row[2]) for row in rows)
    since = now - timedelta(days=LATELY_DAYS)
    of_populate = build.entries.filter(stage=Stage.POPULATE)
    sums = of_populate.aggregate(
        first=Min("at"), lately=Sum("pixels", filter=Q(at__gte=since)),
        replaced=Sum("pixels", filter=Q(kind=LedgerKind.REOPEN)),
    )  # fmt: skip
    days = LATELY_DAYS if sums["first"] is None else min(LATELY_DAYS, max(1, (now - sums["first"]).days + 1))
    replaced = min(-(sums["replaced"] or 0), passed_last)
    return Failures(passed_last, replaced), PopulatePace(passed_first, max(0, sums["lately"] or 0) / days)
