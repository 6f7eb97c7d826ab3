"""One segment, looked at closely: what may be done to it, and what it needs first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from buildlog.core.wording import Sentence
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.order import CloseInState, RunLink, SegmentProgress, open_now, why_not
from buildlog.core.work.stages import STAGES, Stage, order_of


@dataclass(frozen=True, slots=True)
class StageDetail:
    """A stage of one segment: ``open`` pixels may pass it now. ``needs`` says what is missing when the segment itself
    has come far enough and still none may."""

    stage: Stage
    level: int
    count: int
    pixels: int
    open: int
    needs: Sentence | None = None

    @property
    def share(self) -> float:
        return self.count / self.pixels

    @property
    def passed(self) -> bool:
        return self.count == self.pixels


@dataclass(frozen=True, slots=True)
class Detail:
    """A segment with its steps in the order in which it passes them, and how many rings the ball has."""

    cell: MapCell
    rings: int
    steps: tuple[StageDetail, ...]
    links: tuple[RunLink, ...] = ()

    @property
    def next_steps(self) -> tuple[StageDetail, ...]:
        """Steps that can be made now, the furthest one first."""
        return tuple(step for step in reversed(self.steps) if step.open)

    @property
    def needs(self) -> Sentence | None:
        """What stands in the way of the nearest step that cannot be made yet."""
        return next((step.needs for step in self.steps if step.needs), None)

    @property
    def begun(self) -> bool:
        return any(step.count for step in self.steps)

    @property
    def finished(self) -> bool:
        return all(step.passed for step in self.steps)


def steps_of(
    standing: SegmentProgress, links: Sequence[RunLink], close_in: CloseInState | None
) -> tuple[StageDetail, ...]:
    """The four steps of a segment in its own order."""
    return tuple(_step(standing, stage, links, close_in) for stage in order_of(standing.closing))


def _step(
    standing: SegmentProgress, stage: Stage, links: Sequence[RunLink], close_in: CloseInState | None
) -> StageDetail:
    due, may = standing.open_to(stage), open_now(standing, stage, links, close_in)
    needs = why_not(standing, stage, due, links, close_in) if due and not may else None
    return StageDetail(stage, STAGES.index(stage) + 1, standing.count(stage), standing.pixels, may, needs)
