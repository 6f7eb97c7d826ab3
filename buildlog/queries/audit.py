"""The audit: does what is shown follow from what was written down?"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby

from buildlog.core.plan.built import Built
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedSegment
from buildlog.core.plan.plan import tiling_problems
from buildlog.core.work.ledger import Entry, LedgerKind, fold
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import Spell, overlaps
from buildlog.models import Build, LedgerEntry, Plan, Stint, StintMember
from buildlog.queries.ball_plan import stored_parts


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
    """Rings, segments and runs on file: every pixel on one segment and one run, each where it says it is."""
    plan = build.plans.first()
    if plan is None:
        return
    rings, segments, channels = stored_parts(plan)
    for problem in tiling_problems(rings, segments, channels, plan.read().capacity):
        yield problem.what
    yield from _places(build, plan)
    if plan.frozen:
        yield from _totals(plan.read_built(), rings, segments, channels)


def _places(build: Build, plan: Plan) -> Iterator[str]:
    """Segments on rings of their own revision, runs one after the other along their channel."""
    for segment in build.segments.select_related("lies_on"):
        ring = segment.lies_on
        if segment.ring != ring.number or (segment.retired_at is None) != (ring.plan_id == plan.pk):
            yield f"{segment.code}: it lies on ring {ring.number} of another plan or another ring."
    for channel, chain in groupby(build.runs.select_related("segment"), key=lambda run: run.channel):
        begins = 1
        for run in chain:
            if (run.begins, run.segment.retired_at) != (begins, None):
                yield f"Channel {channel}: the run on {run.segment.code} begins at {run.begins}, its place is {begins}."
            begins += run.pixels


def _totals(
    built: Built,
    rings: Sequence[PlannedRing],
    segments: Sequence[PlannedSegment],
    channels: Sequence[PlannedChannel],
) -> Iterator[str]:
    totals = built.totals
    for noun, total, count in (
        ("rings", totals.rings, len(rings)),
        ("pixels", totals.pixels, sum(ring.pixels for ring in rings)),
        ("segments", totals.segments, len(segments)),
        ("channels", totals.channels, len(channels)),
        ("wired channels", len(built.wiring.channels), len(channels)),
        ("feeds", sum(built.wiring.supplies), sum(len(each.feeds) for each in built.wiring.channels)),
    ):
        if total != count:
            yield f"The plan as built says {total} {noun}, on file are {count}."


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
    for before, other in zip(stints, stints[1:], strict=False):
        if overlaps(before.started_at, before.ended_at, other.started_at, other.ended_at):
            yield f"{name}: {before} and {other} share time."
    running = Counter(stint.state for stint in stints)[Stint.State.RUNNING]
    if running > 1:
        yield f"{name} has {running} running stints: one is allowed."
