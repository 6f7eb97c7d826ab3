"""What a plan is made from, checked at birth: every problem at once, each by the name of its option."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import partial
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.checking import check_limits, check_together
from buildlog.core.plan.settings import (
    GROUPS,
    BuyingParameters,
    MassParameters,
    PowerParameters,
    StockParameters,
    WiringParameters,
    group_from_json,
    group_to_json,
)
from buildlog.core.work.stages import STAGES

CUTS = ("anywhere", "joints", "rings")
ENDS = ("top", "bottom")


@dataclass(frozen=True, slots=True)
class MeasuredRing:
    """A ring as the frame has it. ``height_m`` is above the lowest point of the full ball."""

    ring: int
    pixels: int
    height_m: float | None = None
    closing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanParameters:
    """What the lead gives; lengths in metres, angles in degrees, everything else a count or a share.

    An opening is given as the angle of the first or last ring, or as its pixel count. ``bottom_deg`` up to 90
    counts from the bottom, above 90 from the top: 20 and 160 are the same ring. Without an opening the rings
    begin half a spacing from the pole. ``measured`` replaces the formula; with a ring spacing or a ring count
    beside it, it corrects single rings of the formula.

    Raises Refused with every problem; ``Problem.field`` is the option's name (``diameter``, ``ring_spacing``…).
    """

    diameter_m: float | None = None
    pitch_m: float | None = None
    ring_spacing_m: float | None = None
    rings_count: int | None = None
    top_pixels: int | None = None
    top_deg: float | None = None
    bottom_pixels: int | None = None
    bottom_deg: float | None = None
    snap_share: float = 0.0  # a ring may move by this share of the spacing to hold a whole number of pitches
    ribs: int | None = None
    measured: tuple[MeasuredRing, ...] | None = None

    max_segment: int = 100
    min_segment: int = 1
    seam_rib: int = 1
    seam_stagger: int = 0  # bays by which each ring's seam moves on from the ring above
    strap_width_m: float = 0.025  # a common strap; a guess of ours, to be measured
    edge_strain_limit: float = 0.08
    hand_pieces: tuple[tuple[int, tuple[int, ...]], ...] = ()  # ring → its pieces, set by hand
    closing_rings: tuple[int, int] | None = None
    closing_bays: tuple[int, int] | None = None  # with closing_rings: a door; may run over the first rib (7, 2)

    capacity: int = 500  # 800 kbit/s chips still reach 60 pictures a second
    outputs: int | None = None
    spare_share: float = 0.1
    channel_cut: str = "anywhere"
    start_from: str = "top"
    alternate: bool = False  # turning direction changes from ring to ring
    people: tuple[tuple[str, int], ...] = (("wire", 2), ("test", 2))  # how many fit at a stage at once

    stock: StockParameters = field(default_factory=StockParameters)
    wiring: WiringParameters = field(default_factory=WiringParameters)
    power: PowerParameters = field(default_factory=PowerParameters)
    mass: MassParameters = field(default_factory=MassParameters)
    buying: BuyingParameters = field(default_factory=BuyingParameters)

    def __post_init__(self) -> None:
        problems = check_limits(self)
        problems = problems or check_together(self)
        if problems:
            raise Refused(problems)
        # Two plans that say the same are equal: a database may hand the keys of an object back in another order.
        order = {stage.value: place for place, stage in enumerate(STAGES)}
        object.__setattr__(self, "people", tuple(sorted(self.people, key=lambda limit: order[limit[0]])))
        object.__setattr__(self, "hand_pieces", tuple(sorted(self.hand_pieces)))

    def to_json(self) -> dict[str, Any]:
        """Plain lists, dicts and numbers; ``from_json`` gives the same parameters back exactly."""
        out = {part.name: _plain(getattr(self, part.name)) for part in fields(self)}
        out["people"] = dict(self.people)
        out["hand_pieces"] = {str(ring): list(pieces) for ring, pieces in self.hand_pieces}
        for name in GROUPS:
            out[name] = group_to_json(getattr(self, name))
        if self.measured is not None:
            out["measured"] = [_ring_json(ring) for ring in self.measured]
        return out

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> PlanParameters:
        """The parameters that ``to_json`` wrote. Raises Refused on unknown names and wrong values."""
        known = {part.name for part in fields(cls)}
        if unknown := sorted(set(data) - known):
            raise Refused([Problem(f"{name} is unknown. Known: {', '.join(sorted(known))}.", name) for name in unknown])
        try:
            return cls(**{name: _READERS.get(name, _same)(value) for name, value in data.items()})
        except (TypeError, ValueError, KeyError, AttributeError) as error:
            raise Refused(Problem(f"These plan parameters cannot be read ({error}). Save the plan again.")) from error


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _ring_json(ring: MeasuredRing) -> dict[str, Any]:
    return {"ring": ring.ring, "pixels": ring.pixels, "height_m": ring.height_m, "closing": ring.closing}


def _same(value: Any) -> Any:
    return value


def _measured(value: Any) -> tuple[MeasuredRing, ...] | None:
    return None if value is None else tuple(MeasuredRing(**ring) for ring in value)


def _pair(value: Any) -> tuple[int, int] | None:
    return None if value is None else (value[0], value[1])


_READERS: dict[str, Any] = {
    **{name: partial(group_from_json, kind) for name, kind in GROUPS.items()},
    "measured": _measured,
    "closing_rings": _pair,
    "closing_bays": _pair,
    "people": lambda value: tuple(value.items()),
    "hand_pieces": lambda value: tuple((int(ring), tuple(pieces)) for ring, pieces in value.items()),
}
