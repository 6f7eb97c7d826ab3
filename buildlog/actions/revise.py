"""A frozen plan changed while work goes on. Nothing ticked goes without the lead's decision.

A piece that changes is either kept (its row and its ledger stay), or retired with its ledger; then a new piece takes
its code, at 0 or with the counts of the old one carried over by entries of their own.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from buildlog.actions import plans, ticks
from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.built import built_of
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import BallPlan, compute
from buildlog.core.plan.revise import Decision, Fate, Revision
from buildlog.core.plan.revise import revise as compare
from buildlog.core.wording import _
from buildlog.core.work.ledger import LedgerKind, fingerprint, shown
from buildlog.core.work.stages import STAGES, Stage
from buildlog.models import Build, LedgerEntry, Person, Plan, Ring, Segment, Stint
from buildlog.queries.ball_plan import as_built

Rows = dict[str, Segment]
PLACE = ("lies_on", "first_pixel", "pixels", "closing", "from_deg", "to_deg")


@dataclass(frozen=True)
class Answers:
    """What the lead decided: by segment, and whether pieces that go to other channels are wired and tested again."""

    decisions: Mapping[str, Decision]
    redo_wiring: bool = False


@transaction.atomic
def revise(
    *, build: Build, parameters: PlanParameters, answers: Answers, revision: int, by: Person, now: datetime
) -> Plan:
    """Put these parameters in force. ``revision`` is the plan that the lead looked at when deciding.

    Raises Refused when the plan is no longer that one, when a decision is missing, or when somebody works on a piece
    that changes.
    """
    ticks.lock(build)
    plan = _plan_looked_at(build, revision)
    rows: Rows = {row.code: row for row in build.segments.current()}
    before, after = as_built(plan), compute(parameters)
    comparison = compare(before, after, {code: max(row.sums.values()) for code, row in rows.items()})
    _refuse_undecided(comparison, answers)
    _refuse_running(build, comparison)
    made = Plan.objects.create(
        build=build, revision=plan.revision + 1, parameters=parameters.to_json(), created_at=now, frozen_at=now,
        **built_of(after).to_json(),
    )  # fmt: skip
    _put_in_force(made, comparison, answers, rows, after, by, now)
    _on_record(build, made, comparison, answers, by, now)
    return made


def _plan_looked_at(build: Build, revision: int) -> Plan:
    plan = Plan.objects.select_for_update().filter(build=build).first()
    if plan is None or not plan.frozen:
        raise Refused(Problem(_("The plan is a draft: change it as it is.")))
    if plan.revision != revision:
        raise Refused(
            Problem(
                _("Somebody has put plan {revision} in force meanwhile: look at the changes again."),
                revision=plan.revision,
            )
        )
    return plan


def _refuse_undecided(comparison: Revision, answers: Answers) -> None:
    missing = comparison.undecided(answers.decisions)
    if missing:
        raise Refused(
            [Problem(_("{code}: decide what becomes of the pixels ticked on it."), code, code=code) for code in missing]
        )


def _refuse_running(build: Build, comparison: Revision) -> None:
    """Somebody is at it right now: first the stint ends, then the piece may change."""
    touched = {change.code for change in comparison.changes if change.fate in (Fate.CHANGES, Fate.GOES)}
    running = Stint.objects.running().filter(build=build, segment__retired_at=None, segment__code__in=touched)
    held = sorted(set(running.values_list("segment__code", flat=True)))
    if held:
        raise Refused(
            Problem(_("Somebody is working on {codes}: let them stop their stint first."), codes=", ".join(held))
        )


def _put_in_force(
    plan: Plan, comparison: Revision, answers: Answers, rows: Rows, after: BallPlan, by: Person, now: datetime
) -> None:
    build, rings = plan.build, plans.make_rings(plan, after)
    retired = {
        change.code: rows[change.code] for change in comparison.changes if _retires(change.code, comparison, answers)
    }
    Segment.objects.filter(pk__in=[row.pk for row in retired.values()]).update(retired_at=now)
    kept = {code: row for code, row in rows.items() if code not in retired}
    _lay_again(kept, rings, after)
    new = plans.make_segments(build, rings, [piece for piece in after.segments if piece.code not in kept])
    _hand_on(retired, new)
    current = kept | new
    moved = [row for code, row in retired.items() if answers.decisions.get(code) is Decision.MOVE]
    _carry(build, moved, current, by, now)
    build.runs.all().delete()
    plans.make_runs(build, current, after)
    if answers.redo_wiring:
        _rewire(build, [current[code] for code in comparison.rewired if code in kept], by, now)


def _retires(code: str, comparison: Revision, answers: Answers) -> bool:
    change = comparison.by_code[code]
    if change.fate is Fate.GOES:
        return True
    decided = answers.decisions.get(code)
    return change.fate is Fate.CHANGES and change.ticked and decided in (Decision.MOVE, Decision.REDO)


def _lay_again(kept: Rows, rings: Mapping[int, Ring], after: BallPlan) -> None:
    """Rows that stay, on the new plan's rings, at the place and length that it gives them."""
    for code, row in kept.items():
        row.lies_on = rings[row.ring]
        for name, value in plans.place(after.by_code[code]).items():
            setattr(row, name, value)
    Segment.objects.bulk_update(kept.values(), PLACE, batch_size=200)


def _hand_on(retired: Rows, new: Rows) -> None:
    """Whoever had a piece has the one that takes its code."""
    heirs = [row for code, row in new.items() if code in retired and retired[code].assigned_to_id]
    for row in heirs:
        row.assigned_to_id = retired[row.code].assigned_to_id
    Segment.objects.bulk_update(heirs, ["assigned_to"], batch_size=200)


def _carry(build: Build, moved: Iterable[Segment], current: Rows, by: Person, now: datetime) -> None:
    """Counts of old pieces as entries on the new ones that cover the same stretch of the ring."""
    by_ring: dict[int, list[Segment]] = {}
    for row in current.values():
        by_ring.setdefault(row.ring, []).append(row)
    entries = [
        _carried(build, old, new, stage, pixels, by, now)
        for old in moved
        for stage in STAGES
        for new, pixels in _shares(old, stage, by_ring.get(old.ring, []))
    ]
    LedgerEntry.objects.bulk_create(entries, batch_size=200)
    touched = {entry.segment.pk: entry.segment for entry in entries}
    Segment.objects.bulk_update(touched.values(), [stage.done for stage in STAGES], batch_size=200)


def _shares(old: Segment, stage: Stage, targets: Iterable[Segment]) -> Iterator[tuple[Segment, int]]:
    """(new piece, pixels of it) that the old piece's first pixels cover; no piece gets more than it holds.

    The new pieces' sums grow with what is given out, so that two old pieces cannot fill one new piece twice.
    """
    first = old.first_pixel
    end = first + shown(getattr(old, stage.done), old.pixels)
    for new in targets:
        room = max(0, new.pixels - getattr(new, stage.done))
        pixels = min(room, min(end, new.first_pixel + new.pixels) - max(first, new.first_pixel))
        if pixels > 0:
            setattr(new, stage.done, getattr(new, stage.done) + pixels)
            yield new, pixels


def _carried(
    build: Build, old: Segment, new: Segment, stage: Stage, pixels: int, by: Person, now: datetime
) -> LedgerEntry:
    return LedgerEntry(
        id=uuid.uuid4(), build=build, segment=new, stage=stage, pixels=pixels, kind=LedgerKind.TICK, actor=by, at=now,
        made_at=now, arrived_at=now, note=f"carried over from {old.code} of the plan before",
        fingerprint=fingerprint([LedgerKind.TICK, new.code, stage, pixels, by.pk]),
    )  # fmt: skip


def _rewire(build: Build, rows: Iterable[Segment], by: Person, now: datetime) -> None:
    """Let pieces that go to other channels be wired and tested again."""
    for row in rows:
        pixels = row.standing.count(Stage.WIRE)
        if pixels:
            ticks.reopen(
                build=build, actor=by, entry_ids={stage: uuid.uuid4() for stage in STAGES}, segment_code=row.code,
                stage=Stage.WIRE, pixels=pixels, moment=ticks.Moment.now(now), note="goes to another channel",
            )  # fmt: skip


def _on_record(build: Build, made: Plan, comparison: Revision, answers: Answers, by: Person, now: datetime) -> None:
    counts = ", ".join(f"{len(comparison.of(fate))} {word}" for fate, word in _WORDS.items())
    record(
        build=build, by=by, at=now, verb="revise plan", says=f"Plan {made.revision} in force: {counts}.",
        decisions={code: str(decision) for code, decision in answers.decisions.items()},
        redo_wiring=answers.redo_wiring,
    )  # fmt: skip


_WORDS = {Fate.STAYS: "segments stay", Fate.CHANGES: "change", Fate.GOES: "go", Fate.COMES: "are new"}
