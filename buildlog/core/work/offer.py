"""Which pieces a helper is offered next.

Only what may be worked on now (order.py), what the helper can do, what nobody else is at, and where people still fit.
The piece just left unfinished comes first, then one's own, then later stages before earlier ones, what is begun before
what is not, then what is near the piece last worked on: less walking, fewer ladders moved, and the ball gets finished
instead of only begun.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import cos, hypot, inf, pi, sin

from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.order import SegmentProgress
from buildlog.core.work.stages import STAGES, Stage, order_of, stage_before


@dataclass(frozen=True, slots=True)
class Hand:
    """Who asks. ``skills`` empty: everything; ``populate_left_h`` hours of populating left today [h]."""

    person: int
    skills: frozenset[str] = frozenset()
    populate_left_h: float = inf
    last: str | None = None  # the piece last worked on
    stage: Stage | None = None  # of the running stint

    def can(self, stage: Stage) -> bool:
        return not self.skills or stage in self.skills

    @property
    def hands_tired(self) -> bool:
        return self.populate_left_h <= 0


@dataclass(frozen=True, slots=True)
class Room:
    """What the others are doing: how many at each stage, at which pieces; how many fit; how many a piece needs."""

    limits: Mapping[str, int] = field(default_factory=dict)
    at_work: Mapping[str, int] = field(default_factory=dict)
    taken: frozenset[str] = frozenset()
    hands: Mapping[str, int] = field(default_factory=dict)

    def full(self, stage: Stage) -> bool:
        """Does nobody fit in any more at this stage?"""
        return stage in self.limits and self.at_work.get(stage, 0) >= self.limits[stage]

    def needed(self, stage: Stage) -> int:
        """People one piece needs at this stage."""
        return max(1, self.hands.get(stage, 1))


@dataclass(frozen=True, slots=True)
class Offer:
    """One piece and the stage that it is ready for; ``pixels`` are left to do at it."""

    cell: MapCell
    stage: Stage
    pixels: int
    assigned: bool = False
    hands: int = 1

    @property
    def count(self) -> int:
        return self.cell.done[STAGES.index(self.stage)]

    @property
    def begun(self) -> bool:
        return self.count > 0


def offers(cells: Iterable[MapCell], hand: Hand, room: Room) -> tuple[Offer, ...]:
    """Every piece worth offering, the best first; one stage a piece."""
    cells = tuple(cells)
    rings = max((cell.ring for cell in cells), default=1)
    last = next((cell for cell in cells if cell.code == hand.last), None)
    possible = [offer for cell in cells if (offer := offer_of(cell, hand, room)) is not None]
    return tuple(sorted(possible, key=lambda offer: _rank(offer, hand, last, rings)))


def offer_of(cell: MapCell, hand: Hand, room: Room) -> Offer | None:
    """The latest stage of this piece that suits; None when there is none, or it is another's."""
    mine = cell.helper == hand.person
    if (cell.helper and not mine) or cell.code in room.taken:
        return None
    for stage in ready_stages(cell):
        if hand.can(stage) and not room.full(stage) and (mine or not _spares(hand, stage)):
            return Offer(cell, stage, _left(cell, stage), mine, room.needed(stage))
    return None


def ready_stages(cell: MapCell) -> tuple[Stage, ...]:
    """Stages that may be worked on, later ones first, where the whole piece has passed the stage before.

    Nobody mounts the first ten pixels of a strap that is still being filled, although the order would allow it.
    """
    standing = standing_of(cell)
    return tuple(stage for stage in reversed(order_of(cell.closing)) if stage in cell.now and _whole(standing, stage))


def standing_of(cell: MapCell) -> SegmentProgress:
    return SegmentProgress(cell.code, cell.pixels, cell.closing, dict(zip(STAGES, cell.done, strict=True)))


def waiting(cells: Iterable[MapCell], hand: Hand) -> tuple[MapCell, ...]:
    """One's own pieces that are not finished and cannot be worked on now."""
    return tuple(cell for cell in cells if cell.helper == hand.person and cell.level < len(STAGES) and not cell.now)


def _whole(standing: SegmentProgress, stage: Stage) -> bool:
    before = stage_before(stage, standing.closing)
    return before is None or standing.passed(before)


def _left(cell: MapCell, stage: Stage) -> int:
    return cell.pixels - cell.done[STAGES.index(stage)]


def _spares(hand: Hand, stage: Stage) -> bool:
    return stage is Stage.POPULATE and hand.hands_tired


def _rank(offer: Offer, hand: Hand, last: MapCell | None, rings: int) -> tuple[bool | float, ...]:
    going_on = offer.cell.code == hand.last and (offer.begun or offer.stage is hand.stage)
    later = -order_of(offer.cell.closing).index(offer.stage)
    away = distance(offer.cell, last, rings) if last else 0.0
    return (
        _spares(hand, offer.stage), not going_on, not offer.assigned, offer.stage is not hand.stage, later,
        not offer.begun, away, offer.cell.ring, offer.cell.piece,
    )  # fmt: skip


def distance(cell: MapCell, other: MapCell, rings: int) -> float:
    """How far two pieces lie apart, straight through the ball, in radii: good enough to prefer the nearer one.

    Rings are taken as evenly spaced from pole to pole.
    """
    (x, y, z), (u, v, w) = _spot(cell, rings), _spot(other, rings)
    return hypot(x - u, y - v, z - w)


def _spot(cell: MapCell, rings: int) -> tuple[float, float, float]:
    polar = pi * (cell.ring - 0.5) / max(rings, cell.ring)
    around = pi * (cell.from_deg + cell.to_deg) / 360.0
    return sin(polar) * cos(around), sin(polar) * sin(around), cos(polar)
