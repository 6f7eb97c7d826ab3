"""A plan as a screen shows it: figures first, then one of its tables from a row on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from buildlog.core.plan.chains import ChannelRow, Way, channel_table, compare_ways
from buildlog.core.plan.parts import Ring, Segment
from buildlog.core.plan.plan import Plan

LOOKS = {"rings": "Rings", "segments": "Segments", "channels": "Channels"}
ROWS = 120  # that one table shows; the rest is in the file
MOST_BELTS = 150  # rings drawn from the side: more lines run into one another


@dataclass(frozen=True)
class PlanLook:
    """One look at a plan: which table (a key of LOOKS) and the ring or channel it begins with."""

    plan: Plan
    table: str = "rings"
    start: int = 1

    @property
    def off_zone_area(self) -> float:
        """Share by which the pixels differ from zone area / (pitch × ring spacing)."""
        return self.plan.totals.pixels / self.plan.totals.zone_area_pixels - 1

    @property
    def outputs_free(self) -> int | None:
        """Outputs that stay free; None when nothing is said of outputs."""
        outputs = self.plan.parameters.outputs
        return None if outputs is None else outputs - self.plan.totals.channels

    @property
    def warnings(self) -> tuple[str, ...]:
        return self.plan.warnings

    @cached_property
    def rings(self) -> tuple[Ring, ...]:
        return self.plan.rings[self.start - 1 : self.start - 1 + ROWS]

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        return tuple(islice((piece for piece in self.plan.segments if piece.ring >= self.start), ROWS))

    @cached_property
    def channels(self) -> tuple[ChannelRow, ...]:
        return channel_table(self.plan)[self.start - 1 : self.start - 1 + ROWS]

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The three ways of cutting channels."""
        return compare_ways(self.plan)

    @property
    def rows(self) -> int:
        """How many rows the whole table has."""
        totals = self.plan.totals
        return {"rings": totals.rings, "segments": totals.segments, "channels": totals.channels}[self.table]

    @property
    def rows_shown(self) -> int:
        return len({"rings": self.rings, "segments": self.segments, "channels": self.channels}[self.table])

    @cached_property
    def belts(self) -> tuple[Ring, ...]:
        """Rings enough to draw the ball from the side; those that close the way in always."""
        step = max(1, -(-len(self.plan.rings) // MOST_BELTS))
        return tuple(ring for ring in self.plan.rings if (ring.number - 1) % step == 0 or ring.closing)

    @property
    def ribs_deg(self) -> tuple[float, ...]:
        ribs = self.plan.parameters.ribs or 0
        return tuple(rib * 360.0 / ribs for rib in range(ribs))
