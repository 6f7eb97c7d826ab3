"""How far the build is from closing the way in, and what stands in the way."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.work.order import CloseInState
from buildlog.core.work.stages import Stage
from buildlog.models import Build, CloseIn
from buildlog.models.plan import SegmentQuerySet

NAMED = 12


@dataclass(frozen=True)
class Missing:
    """Segments that still have to pass a stage before the way in may be closed; the first few by their codes."""

    stage: Stage
    number: int
    codes: tuple[str, ...]

    @property
    def more(self) -> int:
        return self.number - len(self.codes)


@dataclass(frozen=True)
class ClosingPage:
    state: CloseInState
    others: int
    closing: tuple[str, ...]
    mounted: int
    missing: tuple[Missing, ...]
    words: tuple[CloseIn, ...]

    @property
    def standing(self) -> CloseIn | None:
        return next((word for word in self.words if word.withdrawn_at is None), None)

    @property
    def ready_for_word(self) -> bool:
        """Everything inside is done; only the lead's word is missing."""
        return not (self.state.unwired or self.state.untested or self.state.faults)

    @property
    def share_done(self) -> float:
        return 1 - self.state.untested / self.others if self.others else 1.0


def closing_page(build: Build) -> ClosingPage:
    """The close-in as it stands (seven queries)."""
    others = build.segments.in_the_way()
    closing = build.segments.current().filter(closing=True)
    return ClosingPage(
        state=CloseIn.objects.state_of(build),
        others=others.count(),
        closing=tuple(closing.values_list("code", flat=True)),
        mounted=closing.filter(mounted__gt=0).count(),
        missing=tuple(_missing(others, stage) for stage in (Stage.WIRE, Stage.TEST)),
        words=tuple(build.close_ins.select_related("by")),
    )


def _missing(others: SegmentQuerySet, stage: Stage) -> Missing:
    codes = tuple(others.short_of(stage).values_list("code", flat=True))
    return Missing(stage, len(codes), codes[:NAMED])
