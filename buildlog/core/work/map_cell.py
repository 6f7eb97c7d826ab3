"""A segment as maps show it: where it is, how far it has come, who has it, what may be done to it now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGE_COUNT, STAGES, Stage


@dataclass(frozen=True, slots=True)
class MapCell:
    """One segment on the map.

    ``from_deg`` and ``to_deg`` are azimuths on the ball (to_deg may pass 360); ``done`` counts pixels that have
    passed each stage, in the order of STAGES; ``now`` are the stages that may be worked on; ``dim`` says that the
    filter leaves it out. Raises Refused for counts outside 0…pixels.
    """

    code: str
    ring: int
    piece: int
    pixels: int
    from_deg: float
    to_deg: float
    done: tuple[int, ...] = (0,) * STAGE_COUNT  # by stage
    closing: bool = False
    now: tuple[Stage, ...] = ()
    faults: int = 0
    notes: int = 0
    helper: int | None = None
    name: str = ""
    initials: str = ""
    channels: tuple[int, ...] = ()
    dim: bool = False

    def __post_init__(self) -> None:
        if self.pixels < 1 or any(not 0 <= count <= self.pixels for count in self.done):
            raise Refused(
                Problem(
                    _("{code}: counts {done} of {pixels} pixels; each is 0 to {pixels}."),
                    code=self.code,
                    done=self.done,
                    pixels=self.pixels,
                )
            )

    @property
    def ready(self) -> bool:
        return bool(self.now)

    @property
    def level(self) -> int:
        """How many stages all of its pixels have passed: 0 to 4."""
        return sum(count == self.pixels for count in self.done)

    @property
    def shares(self) -> tuple[float, ...]:
        """How much of it has passed each stage: 0 to 1, in the order of STAGES."""
        return tuple(count / self.pixels for count in self.done)

    def stretches(self) -> Iterator[tuple[int, float, float]]:
        """(stages passed, begin, end) along the strap, begin and end as shares of its length; level 0 left out.

        Work goes along the strap from its first pixel, so pixels that have passed most stages come first.
        """
        ends = sorted(self.done, reverse=True)
        begin = 0.0
        for level in range(len(STAGES), 0, -1):
            end = ends[level - 1] / self.pixels
            if end > begin:
                yield level, begin, end
                begin = end

    def part(self, begin: float, end: float) -> Iterator[tuple[float, float]]:
        """A stretch of it, given in shares of its length, as azimuths within 0…360."""
        wide = self.to_deg - self.from_deg
        return spans(self.from_deg + begin * wide, self.from_deg + end * wide)

    @property
    def says(self) -> str:
        """The segment in words, for those who do not see the drawing."""
        counts = ", ".join(f"{count} {stage.done}" for stage, count in zip(STAGES, self.done, strict=True) if count)
        parts = [f"{self.code}: {self.pixels} pixels", counts or "not begun"]
        parts += ["closes the way in"] if self.closing else []
        parts += [f"can be worked on now: {', '.join(self.now)}"] if self.now else []
        parts += [f"{self.faults} open fault{'s' if self.faults > 1 else ''}"] if self.faults else []
        parts += ["a note says that something is wrong"] if self.notes else []
        parts += [f"assigned to {self.name or self.initials}"] if self.name or self.initials else []
        return "; ".join(parts)


def spans(from_deg: float, to_deg: float) -> Iterator[tuple[float, float]]:
    """A stretch of a ring as stretches within 0…360; one that passes 360 becomes two.

    >>> list(spans(300, 420))
    [(300.0, 360.0), (0.0, 60.0)]
    """
    begin = from_deg % 360.0
    begin = 0.0 if begin >= 360.0 else begin  # a hair below zero is rounded up to 360
    end = begin + min(to_deg - from_deg, 360.0)
    yield begin, min(end, 360.0)
    if end > 360.0 + 1e-6:
        yield 0.0, end - 360.0


def by_ring(cells: Iterable[MapCell]) -> dict[int, list[MapCell]]:
    """Rings from the top, each with its cells in the order of their pieces."""
    ordered = sorted(cells, key=lambda cell: (cell.ring, cell.piece))
    return {ring: list(row) for ring, row in groupby(ordered, key=lambda cell: cell.ring)}
