"""Plans: kept as a draft, frozen when the crew begins, turned into segments and runs."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.built import built_of
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import BallPlan, PlannedSegment, compute
from buildlog.core.wording import _
from buildlog.models import Build, Person, Plan, Ring, Run, Segment
from buildlog.models.plan import RING_FIELDS
from buildlog.queries.ball_plan import stored_parts

LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # no 0, 1, I, O: a label must survive being read aloud


@transaction.atomic
def save(*, build: Build, parameters: PlanParameters, by: Person | None, now: datetime) -> Plan:
    """Keep these parameters as the build's draft, with its segments and runs. A frozen plan is refused."""
    plan = Plan.objects.select_for_update().filter(build=build).first()
    if plan is not None and plan.frozen:
        raise Refused(
            Problem(_("The plan is frozen: work has been handed out by it. It can no longer be changed here."))
        )
    whole = compute(parameters)
    plan = plan or Plan(build=build, revision=1, created_at=now)
    plan.parameters = parameters.to_json()
    plan.save()
    _lay_down(plan, whole)
    says = f"Plan kept: {whole.totals.pixels} pixels in {whole.totals.segments} segments."
    record(build=build, by=by, at=now, verb="save plan", says=says)
    return plan


@transaction.atomic
def freeze(*, build: Build, by: Person | None, now: datetime) -> Plan:
    """From here on pieces can be assigned and ticked. Freezing again changes nothing."""
    plan = Plan.objects.select_for_update().filter(build=build).first()
    if plan is None:
        raise Refused(Problem(_("There is no plan to freeze yet: make one first.")))
    if not plan.frozen:
        whole = compute(plan.read())
        if stored_parts(plan) != (whole.rings, whole.segments, whole.channels):
            _lay_down(plan, whole)  # kept by another release: what is frozen is what is shown
        _put(plan, frozen_at=now, **built_of(whole).to_json())
        record(build=build, by=by, at=now, verb="freeze plan", says=f"Plan {plan.revision} frozen.")
    return plan


@transaction.atomic
def unfreeze(*, build: Build, by: Person | None, now: datetime) -> Plan:
    """Back to a draft, as long as nothing has been ticked by it."""
    plan = Plan.objects.select_for_update().filter(build=build).first()
    if plan is None or not plan.frozen:
        raise Refused(Problem(_("The plan is not frozen.")))
    if build.entries.exists() or build.stints.exists():
        raise Refused(Problem(_("Work has been logged by this plan: it stays frozen.")))
    _put(plan, frozen_at=None, built={}, wiring={})
    record(build=build, by=by, at=now, verb="unfreeze plan", says=f"Plan {plan.revision} is a draft again.")
    return plan


def _put(plan: Plan, **columns: Any) -> None:
    for name, value in columns.items():
        setattr(plan, name, value)
    plan.save(update_fields=columns)


def _lay_down(plan: Plan, whole: BallPlan) -> None:
    """The rows of a draft, in place of those of the draft before."""
    plan.build.segments.all().delete()
    plan.rings.all().delete()
    rings = make_rings(plan, whole)
    make_runs(plan.build, make_segments(plan.build, rings, whole.segments), whole)


def make_rings(plan: Plan, whole: BallPlan) -> dict[int, Ring]:
    """Rows for the rings of a revision, by number."""
    rows = [Ring(plan=plan, **{name: getattr(ring, name) for name in RING_FIELDS}) for ring in whole.rings]
    return {row.number: row for row in Ring.objects.bulk_create(rows, batch_size=500)}


def make_segments(build: Build, rings: Mapping[int, Ring], segments: Sequence[PlannedSegment]) -> dict[str, Segment]:
    """Rows for these segments of a plan on its rings, each with a label of its own, by code."""
    labels = new_labels(len(segments))
    rows = [
        Segment(
            build=build, lies_on=rings[segment.ring], ring=segment.ring, piece=segment.piece, code=segment.code,
            label=label, **place(segment),
        )
        for segment, label in zip(segments, labels, strict=True)
    ]  # fmt: skip
    return {row.code: row for row in Segment.objects.bulk_create(rows, batch_size=500)}


def place(piece: PlannedSegment) -> dict[str, Any]:
    """Where a piece of a plan lies and how long it is, as its row holds it."""
    return {
        "first_pixel": piece.first_pixel, "pixels": piece.pixels, "closing": piece.closing,
        "from_deg": piece.from_deg, "to_deg": piece.to_deg,
    }  # fmt: skip


def make_runs(build: Build, rows: Mapping[str, Segment], whole: BallPlan) -> None:
    """The runs of every channel, on these rows."""
    Run.objects.bulk_create(
        (
            Run(
                build=build, segment=rows[run.segment], channel=channel.number, begins=begins, first=run.first,
                last=run.last, reversed=run.reversed,
            )
            for channel in whole.channels
            for begins, run in channel.placed
        ),
        batch_size=500,
    )  # fmt: skip


def new_labels(number: int) -> list[str]:
    """Labels nobody has yet: five letters hold 33 million, so a clash is rare and simply drawn again."""
    labels: set[str] = set()
    while len(labels) < number:
        labels |= {"".join(secrets.choice(LETTERS) for _ in range(5)) for _ in range(number - len(labels))}
        labels -= set(Segment.objects.filter(label__in=list(labels)[:900]).values_list("label", flat=True))
    return sorted(labels, key=lambda _: secrets.randbits(32))
