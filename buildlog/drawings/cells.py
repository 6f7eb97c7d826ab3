"""A segment as a drawing sees it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from buildlog.core.errors import Refused
from buildlog.core.work.stages import STAGES


@dataclass(frozen=True, slots=True)
class Cell:
    """One segment: where it is and how far it has come.

    ``done`` counts pixels that have passed each stage, in the order of STAGES; ``ready`` says that it can be worked
    on now; ``dim`` that a filter leaves it out. Raises Refused for counts outside 0…pixels.
    """

    code: str
    ring: int
    piece: int
    pixels: int
    from_deg: float
    to_deg: float
    done: tuple[int, int, int, int] = (0, 0, 0, 0)
    closing: bool = False
    ready: bool = False
    faults: int = 0
    initials: str = ""
    dim: bool = False

    def __post_init__(self) -> None:
        if self.pixels < 1 or any(not 0 <= count <= self.pixels for count in self.done):
            raise Refused(f"{self.code}: counts {self.done} of {self.pixels} pixels; each is 0 to {self.pixels}.")

    @property
    def level(self) -> int:
        """How many stages all of its pixels have passed: 0 to 4."""
        return sum(count == self.pixels for count in self.done)

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

    def says(self) -> str:
        """The segment in words, for those who do not see the drawing."""
        counts = ", ".join(f"{count} {stage.done}" for stage, count in zip(STAGES, self.done, strict=True) if count)
        parts = [f"{self.code}: {self.pixels} pixels", counts or "not begun"]
        parts += ["closes the way in"] if self.closing else []
        parts += ["can be worked on now"] if self.ready else []
        parts += [f"{self.faults} open fault{'s' if self.faults > 1 else ''}"] if self.faults else []
        parts += [f"assigned to {self.initials}"] if self.initials else []
        return "; ".join(parts)


def by_ring(cells: Sequence[Cell]) -> dict[int, list[Cell]]:
    """Rings from the top, each with its cells in the order of their pieces."""
    ordered = sorted(cells, key=lambda cell: (cell.ring, cell.piece))
    return {ring: list(row) for ring, row in groupby(ordered, key=lambda cell: cell.ring)}
