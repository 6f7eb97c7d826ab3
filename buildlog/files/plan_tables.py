"""The tables of a plan: what a workshop, a crew or whoever makes the content takes away.

Lengths are in millimetres, angles in degrees. The table of rings can be loaded again as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from buildlog.core.plan.materials.cutting import CutList, cut_list
from buildlog.core.plan.materials.notches import notches
from buildlog.core.plan.materials.stock import Store
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.chains import channel_table
from buildlog.core.plan.wiring.place import pixel_table
from buildlog.core.plan.wiring.power import power_of
from buildlog.files.out import Cell, Table

RING_COLUMNS = (
    "ring", "pixels", "height_mm", "closing", "polar_deg", "radius_mm", "circumference_mm", "seam_gap_mm", "seam_deg",
    "edge_strain", "moved_mm",
)  # fmt: skip
SEGMENT_COLUMNS = ("segment", "ring", "piece", "first_pixel", "pixels", "length_mm", "from_deg", "to_deg", "closing")
CHANNEL_COLUMNS = (
    "channel", "label", "run", "segment", "from_pixel", "to_pixel", "reversed", "pixels", "chain_from", "chain_to",
    "channel_pixels", "refresh_hz", "lead_mm",
)  # fmt: skip
PIXEL_COLUMNS = (
    "channel", "channel_pixel", "segment", "segment_pixel", "ring", "ring_pixel", "x_mm", "y_mm", "z_mm",
    "azimuth_deg", "polar_deg", "height_mm",
)  # fmt: skip
CUT_COLUMNS = ("length", "from", "length_mm", "order", "piece", "holes", "piece_mm", "left_holes")
POWER_COLUMNS = (
    "channel", "pixels", "peak_a", "injection", "at_pixel", "injection_a", "worst_v", "feed_awg", "feed_mm2",
)  # fmt: skip
CUT_SECONDS = 5.0
NOTCH_COLUMNS = (
    "rib", "ring", "azimuth_deg", "polar_deg", "height_mm", "arc_mm", "from_ring_above_mm", "seam",
)  # fmt: skip


def _mm(metres: float) -> float:
    return round(metres * 1000, 2)


def rings(plan: BallPlan) -> Table:
    """A row a ring, from the top."""
    rows = (
        (
            ring.number, ring.pixels, _mm(ring.height_m), ring.closing, round(ring.polar_deg, 4), _mm(ring.radius_m),
            _mm(ring.circumference_m), _mm(ring.seam_gap_m), round(ring.seam_deg, 4), round(ring.edge_strain, 5),
            _mm(ring.shift_m),
        )
        for ring in plan.rings
    )  # fmt: skip
    return Table(RING_COLUMNS, rows)


def segments(plan: BallPlan) -> Table:
    """A row a segment; degrees count along the ring from its seam."""
    rows = (
        (
            piece.code, piece.ring, piece.piece, piece.first_pixel, piece.pixels, _mm(piece.pixels * plan.pitch_m),
            round(piece.from_deg, 4), round(piece.to_deg, 4), piece.closing,
        )
        for piece in plan.segments
    )  # fmt: skip
    return Table(SEGMENT_COLUMNS, rows)


def channels(plan: BallPlan) -> Table:
    """A row a run, in the order in which data passes; ``chain_from`` and ``chain_to`` are pixels of the channel."""
    return Table(CHANNEL_COLUMNS, _runs(plan))


def _runs(plan: BallPlan) -> Iterator[tuple[Cell, ...]]:
    for channel, row in zip(plan.channels, channel_table(plan), strict=True):
        before = 0
        for number, run in enumerate(channel.runs, start=1):
            chain = (before + 1, before + run.pixels)
            whole = (channel.pixels, round(row.refresh_hz, 1), _mm(row.lead_m))
            yield (
                channel.number, row.label, number, run.segment, run.first, run.last, run.reversed, run.pixels, *chain,
                *whole,
            )  # fmt: skip
            before += run.pixels


def pixels(plan: BallPlan) -> Table:
    """A row a pixel, channel by channel: x to azimuth 0, y to azimuth 90°, z up from the ball's centre."""
    return Table(PIXEL_COLUMNS, _pixels(plan))


def _pixels(plan: BallPlan) -> Iterator[tuple[Cell, ...]]:
    table = pixel_table(plan)
    codes = [segment.code for segment in plan.segments]
    ways = (table.channel, table.chain, table.segment, table.pixel, table.ring, table.ring_pixel)
    spots = ((1000 * axis).round(2) for axis in (table.x_m, table.y_m, table.z_m))
    angles = (table.azimuth_deg.round(4), table.polar_deg.round(4), (1000 * table.height_m).round(2))
    order = (table.channel * (plan.parameters.capacity + 1) + table.chain).argsort(kind="stable")
    columns = [column[order].tolist() for column in (*ways, *spots, *angles)]
    for channel, chain, segment, *rest in zip(*columns, strict=True):
        yield (channel, chain, codes[segment], *rest)


def notch_table(plan: BallPlan) -> Table:
    """A row a ring on a rib. Raises Refused when the plan has no ribs."""
    rows = (
        (
            notch.rib, notch.ring, round(notch.azimuth_deg, 4), round(notch.polar_deg, 4), _mm(notch.height_m),
            _mm(notch.arc_m), _mm(notch.from_ring_above_m), notch.seam,
        )
        for notch in notches(plan)
    )  # fmt: skip
    return Table(NOTCH_COLUMNS, rows)


def cuts(plan: BallPlan) -> Table:
    """A row a piece, length by length in the order to cut. Raises Refused when no roll length is given."""
    return Table(CUT_COLUMNS, _pieces(cut_list(plan, CUT_SECONDS)))


def _pieces(cuts: CutList) -> Iterator[tuple[Cell, ...]]:
    for number, length in enumerate(cuts.lengths, start=1):
        for place, piece in enumerate(length.pieces, start=1):
            whole = ("roll" if length.roll else "offcut", _mm(length.holes * cuts.pitch_m))
            yield (
                number, *whole, place, piece.code, piece.holes, _mm(piece.holes * cuts.pitch_m), length.left_holes,
            )  # fmt: skip


def power(plan: BallPlan) -> Table:
    """A row an injection, channel by channel, at the peak."""
    return Table(POWER_COLUMNS, _feeds(plan))


def _feeds(plan: BallPlan) -> Iterator[tuple[Cell, ...]]:
    for channel, chain in zip(plan.channels, power_of(plan).chains, strict=True):
        for number, (pixel, amps) in enumerate(zip(chain.feeds, chain.feed_amps, strict=True), start=1):
            feed = (number, pixel, round(amps, 3), round(chain.worst_volts, 3), chain.feed_awg, chain.feed_mm2)
            yield (channel.number, channel.pixels, round(chain.amps, 3), *feed)


SUPPLY_COLUMNS = ("item", "unit", "need", "spares", "have", "still_to_get", "price", "cost")


def supply_table(store: Store) -> Table:
    """A row an item to buy."""
    rows = (
        (
            item.what, item.unit, round(item.need, 2), round(item.spares, 2), round(item.have, 2), round(item.get, 2),
            item.price, round(item.cost, 2),
        )
        for item in store.items
    )  # fmt: skip
    return Table(SUPPLY_COLUMNS, rows)


PLAN_TABLES: dict[str, Callable[[BallPlan], Table]] = {
    "rings": rings,
    "segments": segments,
    "channels": channels,
    "pixels": pixels,
    "notches": notch_table,
    "cuts": cuts,
    "power": power,
}
