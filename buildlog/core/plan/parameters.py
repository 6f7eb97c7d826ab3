"""What a plan is made from, checked at birth: every problem at once, each by the name of its option."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, TypeVar

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.check_rings import check_rings
from buildlog.core.plan.check_together import check_together
from buildlog.core.plan.parameter_table import (
    PARTS,
    BallParameters,
    BuyingParameters,
    MassParameters,
    MeasuredRing,
    PowerParameters,
    StockParameters,
    WiringParameters,
    check_alone,
    refuse,
    rows_of,
)
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES

P = TypeVar("P")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanParameters(BallParameters):
    """The ball with all that is needed beyond it: strap in stock, wiring, power, mass, prices.

    Raises Refused with every problem; ``Problem.field`` is the option's name (``diameter``, ``ring_spacing``…).
    """

    stock: StockParameters = field(default_factory=StockParameters)
    wiring: WiringParameters = field(default_factory=WiringParameters)
    power: PowerParameters = field(default_factory=PowerParameters)
    mass: MassParameters = field(default_factory=MassParameters)
    buying: BuyingParameters = field(default_factory=BuyingParameters)

    def __post_init__(self) -> None:
        refuse([*check_alone(self), *check_rings(self)] or check_together(self))
        # Two plans that say the same are equal: a database may hand the keys of an object back in another order.
        order = {stage.value: place for place, stage in enumerate(STAGES)}
        object.__setattr__(self, "people", tuple(sorted(self.people, key=lambda limit: order[limit[0]])))
        object.__setattr__(self, "hand_pieces", tuple(sorted(self.hand_pieces)))

    def to_json(self) -> dict[str, Any]:
        """Plain lists, dicts and numbers; ``from_json`` gives the same parameters back exactly."""
        out = _to_json(self)
        out["measured"] = None if self.measured is None else [asdict(ring) for ring in self.measured]
        return out | {part: _to_json(getattr(self, part)) for part in PARTS}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> PlanParameters:
        """The parameters that ``to_json`` wrote. Raises Refused on unknown names and wrong values."""
        known = {column.name for column in fields(cls)}
        if unknown := sorted(set(data) - known):
            raise Refused(
                [
                    Problem(_("{name} is unknown. Known: {known}."), name, name=name, known=", ".join(sorted(known)))
                    for name in unknown
                ]
            )
        try:
            values = dict(data)
            values |= {part: _from_json(kind, values[part]) for part, kind in PARTS.items() if part in values}
            if values.get("measured") is not None:
                values["measured"] = tuple(MeasuredRing(**ring) for ring in values["measured"])
            return _from_json(cls, values)
        except (TypeError, ValueError, KeyError, AttributeError) as error:
            raise Refused(
                Problem(_("These plan parameters cannot be read ({error}). Save the plan again."), error=error)
            ) from error


def _to_json(values: Any) -> dict[str, Any]:
    return {row.field: row.kind.to_json(getattr(values, row.field)) for row in rows_of(type(values))}


def _from_json(kind: type[P], data: Any) -> P:
    """The dataclass with these values. Raises TypeError on unknown names."""
    values = dict(data)
    values |= {row.field: row.kind.from_json(values[row.field]) for row in rows_of(kind) if row.field in values}
    return kind(**values)
