"""A plan as a screen shows it: figures first, then one of its tables from a row on.

What takes long is reckoned only when it is looked at.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby, islice
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.compare import ComparedLine, side_by_side
from buildlog.core.plan.materials.cutting import CutLength, CutList, cut_list
from buildlog.core.plan.materials.mass import Mass, mass_of
from buildlog.core.plan.materials.notches import notches
from buildlog.core.plan.parts import PlannedRing
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.chains import CutWay, channel_table, compare_ways
from buildlog.core.plan.wiring.power import Power, power_of
from buildlog.core.work.stages import Stage

LOOKS = {
    "rings": "Rings",
    "segments": "Segments",
    "channels": "Channels",
    "notches": "Notches",
    "cuts": "Cut list",
    "power": "Power",
    "weight": "Weight",
    "beside": "Beside the draft",
}
AS_FILE = ("rings", "segments", "channels", "notches", "cuts", "power")
ROWS = 120  # that one table shows; the rest is in the file
MOST_BELTS = 150  # rings drawn from the side: more lines run into one another
AT_ONCE = 60_000  # pixels up to which power is reckoned at every keystroke
MOST_TYPED = 200_000  # pixels beyond which nobody waits for a cut list while typing
CUT_SECONDS = 2.0


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece to cut, so many times one after the other."""

    code: str
    holes: int
    times: int


@dataclass(frozen=True, slots=True)
class CutRow:
    """One roll or offcut with its cuts in order."""

    roll: bool
    pieces: tuple[Cut, ...]
    left_holes: int


@dataclass(frozen=True)
class PlanLook:
    """One look at a plan: which table (a key of LOOKS) and the ring or channel it begins with.

    ``other`` is the plan it is compared with, ``rates`` are pixels or runs a person-hour, ``mounted`` says how many
    pixels of each segment hang already.
    """

    plan: BallPlan
    table: str = "rings"
    start: int = 1
    other: BallPlan | None = None
    rates: Mapping[Stage, float] = field(default_factory=dict)
    mounted: Mapping[str, int] | None = None

    @property
    def off_zone_area(self) -> float:
        """Share by which the pixels differ from zone area / (pitch × ring spacing)."""
        return self.plan.totals.pixels / self.plan.totals.zone_area_pixels - 1

    @property
    def outputs_free(self) -> int | None:
        """Outputs that stay free; None when nothing is said of outputs."""
        outputs = self.plan.parameters.outputs
        return None if outputs is None else outputs - self.plan.totals.channels

    @cached_property
    def power(self) -> Power:
        return power_of(self.plan)

    @property
    def power_at_once(self) -> bool:
        return self.plan.totals.pixels <= AT_ONCE or self.table == "power"

    @property
    def warnings(self) -> tuple[str, ...]:
        return (*self.plan.warnings, *(self.power.warnings if self.power_at_once else ()))

    @property
    def too_large(self) -> bool:
        """Whether the table asked for would keep people waiting."""
        return self.table in ("cuts", "beside") and self.plan.totals.pixels > MOST_TYPED

    @cached_property
    def ways(self) -> tuple[CutWay, ...]:
        """The three ways of cutting channels."""
        return compare_ways(self.plan)

    @cached_property
    def refused(self) -> tuple[Problem, ...]:
        """Why the table asked for cannot be made."""
        try:
            _ = self.all_rows
        except Refused as refused:
            return refused.problems
        return ()

    @cached_property
    def all_rows(self) -> Sequence[Any]:
        """Every row of the table asked for, from ``start`` on. Raises Refused when there can be none."""
        first = self.start - 1
        match self.table:
            case "rings":
                return self.plan.rings[first:]
            case "segments":
                return [piece for piece in self.plan.segments if piece.ring >= self.start]
            case "channels":
                return channel_table(self.plan)[first:]
            case "notches":
                return notches(self.plan)[first : self.plan.totals.rings]  # ribs are alike
            case "cuts":
                return () if self.too_large else [_cut_row(length) for length in self.cuts.lengths[first:]]
            case "power":
                return self.power.chains[first:]
        return ()

    @property
    def rows(self) -> list[Any]:
        """The rows that are shown."""
        return list(islice(self.all_rows, ROWS))

    @property
    def as_file(self) -> bool:
        """Whether the table can be taken along as a file."""
        return self.table in AS_FILE and not self.refused

    @cached_property
    def cuts(self) -> CutList:
        return cut_list(self.plan, seconds=CUT_SECONDS)

    @cached_property
    def mass(self) -> Mass:
        return mass_of(self.plan)

    @cached_property
    def mass_now(self) -> Mass | None:
        """As the ball stands; None when nothing is said of it."""
        return None if self.mounted is None else mass_of(self.plan, self.mounted)

    @cached_property
    def beside(self) -> tuple[ComparedLine, ...]:
        """The other plan and this one, figure by figure."""
        if self.other is None or self.too_large:
            return ()
        return side_by_side(self.other, self.plan, self.rates, (_cuts_if_any(self.other), _cuts_if_any(self.plan)))

    @cached_property
    def belts(self) -> tuple[PlannedRing, ...]:
        """Rings enough to draw the ball from the side; those that close the way in always."""
        step = max(1, -(-len(self.plan.rings) // MOST_BELTS))
        return tuple(ring for ring in self.plan.rings if (ring.number - 1) % step == 0 or ring.closing)

    @property
    def ribs_deg(self) -> tuple[float, ...]:
        ribs = self.plan.parameters.ribs or 0
        return tuple(rib * 360.0 / ribs for rib in range(ribs))


def _cut_row(length: CutLength) -> CutRow:
    equal = ((piece, len(list(same))) for piece, same in groupby(length.pieces))
    return CutRow(length.roll, tuple(Cut(piece.code, piece.holes, times) for piece, times in equal), length.left_holes)


def _cuts_if_any(plan: BallPlan) -> CutList | None:
    """The cut list where a roll is given and long enough."""
    try:
        return cut_list(plan, seconds=CUT_SECONDS)
    except Refused:
        return None
