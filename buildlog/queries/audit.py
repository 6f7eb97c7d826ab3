"""The audit: does what is shown follow from what was written down?"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from buildlog.core.plan.plan import compute
from buildlog.core.work.ledger import Entry, LedgerKind, fold
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import Spell, overlaps
from buildlog.models import Build, LedgerEntry, Run, Stint, StintMember


def differences(build: Build) -> list[str]:
    """A sentence for everything that does not add up; an empty list when all is well."""
    return [*_ledger(build), *_plan(build), *_stints(build)]


def _ledger(build: Build) -> Iterator[str]:
    """The sums on the segments against the fold of the ledger."""
    sums = fold(_entries(build))
    for segment in build.segments.order_by("ring", "piece", "pk"):
        for stage in STAGES:
            folded = sums.pop((str(segment.pk), stage), 0)
            if folded != segment.sums[stage]:
                yield (
                    f"{segment.code}: the ledger adds up to {folded} pixels {stage.done}, "
                    f"the segment says {segment.sums[stage]}."
                )


def _entries(build: Build) -> Iterator[Entry]:
    for entry in LedgerEntry.objects.filter(build=build).iterator():
        yield Entry(
            entry.id, str(entry.segment_id), Stage(entry.stage), entry.pixels, LedgerKind(entry.kind), entry.undoes_id
        )


def _plan(build: Build) -> Iterator[str]:
    """Segments and runs in the database against the plan computed afresh."""
    plan = build.plans.first()
    if plan is None:
        return
    whole = compute(plan.read())
    planned = {s.code: (s.ring, s.piece, s.first_pixel, s.pixels, s.closing) for s in whole.segments}
    stored = {s.code: (s.ring, s.piece, s.first_pixel, s.pixels, s.closing) for s in build.segments.current()}
    yield from _compared(planned, stored, "segment")
    runs = {
        (channel.number, place): (run.segment, run.first, run.last, run.reversed)
        for channel in whole.channels
        for place, run in enumerate(channel.runs, start=1)
    }
    rows = Run.objects.filter(segment__build=build, segment__retired_at__isnull=True).select_related("segment")
    held = {(run.channel, run.position): (run.segment.code, run.first, run.last, run.reversed) for run in rows}
    yield from _compared(runs, held, "run")


def _compared(planned: dict, stored: dict, what: str) -> Iterator[str]:
    for key in sorted(planned.keys() | stored.keys(), key=str):
        if planned.get(key) != stored.get(key):
            yield f"{what} {key}: the plan says {planned.get(key)}, the database holds {stored.get(key)}."


def _stints(build: Build) -> Iterator[str]:
    """Stints against the rules: possible spells, nobody at two places at once, one open stint a helper."""
    by_person: dict[str, list[Stint]] = defaultdict(list)
    members = StintMember.objects.filter(stint__build=build).select_related("stint__job", "person")
    for member in members.order_by("stint__started_at"):
        stint = member.stint
        if stint.state != Stint.State.TO_CONFIRM:
            by_person[member.person.name].append(stint)
        if member.open != (stint.state == Stint.State.RUNNING):
            yield f"{member.person}, {stint}: the stint is {stint.state}, but its member's mark says otherwise."
    for stint in build.stints.exclude(ended_at=None):
        spell = Spell(stint.started_at, stint.ended_at or stint.started_at, stint.rest)
        if problem := spell.problem():
            yield f"{stint}: {problem.what}"
    for name, stints in by_person.items():
        yield from _clashes(name, stints)


def _clashes(name: str, stints: list[Stint]) -> Iterator[str]:
    for one, other in zip(stints, stints[1:], strict=False):
        if overlaps(one.started_at, one.ended_at, other.started_at, other.ended_at):
            yield f"{name}: {one} and {other} share time."
    running = Counter(stint.state for stint in stints)[Stint.State.RUNNING]
    if running > 1:
        yield f"{name} has {running} running stints: one is allowed."
