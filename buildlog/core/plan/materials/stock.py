"""What lies in the store, beside what the build takes: what is still to get, and when something runs out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from buildlog.core.plan.kinds import Offcut
from buildlog.core.plan.materials.supplies import Failures, Item, runs_out
from buildlog.core.plan.parameters import PlanParameters

# Items as people write them, by the key under which supplies are reckoned.
NAMES = {
    "pixel": ("pixel", "pixels"),
    "strap": ("strap",),
    "roll": ("roll", "rolls", "roll of strap", "rolls of strap"),
    "offcut": ("offcut", "offcuts"),
    "lead": ("lead", "lead wire"),
    "supply": ("supply", "power supply", "power supplies"),
    "output": ("output", "outputs", "controller output", "controller outputs"),
}
_KEYS = {name: key for key, names in NAMES.items() for name in names}


@dataclass(frozen=True, slots=True)
class StockItem:
    """So many of one thing got so far, used or not; ``length_mm`` is that of one roll or offcut. ``row`` in a file."""

    item: str
    quantity: float
    length_mm: float | None = None
    note: str = ""
    row: int | None = None


def item_key(text: str) -> str:
    """The key of an item that is reckoned with; any other text is a thing of its own and stays as it is."""
    plain = " ".join(text.split())
    return _KEYS.get(plain.lower(), plain)


def quantities(holdings: Iterable[StockItem]) -> dict[str, float]:
    """How many of each item there are, whatever their length."""
    out: dict[str, float] = {}
    for holding in holdings:
        out[holding.item] = out.get(holding.item, 0.0) + holding.quantity
    return out


def stocked(parameters: PlanParameters, holdings: Sequence[StockItem]) -> PlanParameters:
    """The plan's parameters with rolls and offcuts as they lie in the store, where something is said of them.

    Rolls of another length than the plan's are cut up like offcuts.
    """
    rolls = [holding for holding in holdings if holding.item == "roll"]
    offcuts = [holding for holding in holdings if holding.item == "offcut"]
    if not rolls and not offcuts:
        return parameters
    roll_m = parameters.stock.roll_m or next((holding.length_mm / 1000 for holding in rolls if holding.length_mm), None)
    usual = [holding for holding in rolls if holding.length_mm is None or holding.length_mm / 1000 == roll_m]
    odd = [
        holding
        for holding in (*rolls, *offcuts)
        if holding not in usual and holding.length_mm and holding.quantity >= 1
    ]
    pieces = tuple(Offcut((holding.length_mm or 0.0) / 1000, int(holding.quantity)) for holding in odd)
    number = int(sum(holding.quantity for holding in usual)) if usual else parameters.stock.rolls
    return replace(
        parameters,
        stock=replace(parameters.stock, roll_m=roll_m, rolls=number, offcuts=pieces or parameters.stock.offcuts),
    )


@dataclass(frozen=True, slots=True)
class PopulatePace:
    """Pixels populated so far, and how many a day lately."""

    populated: int = 0
    a_day: float = 0.0


@dataclass(frozen=True, slots=True)
class RunOut:
    """Something that is being used up: how much is left, how much goes a day, and the day it is gone (None: lasts)."""

    what: str
    unit: str
    left: float
    a_day: float
    day: date | None


@dataclass(frozen=True)
class Store:
    """Supplies of a build on one day. ``holdings`` is what was counted, ``items`` what the build takes."""

    items: tuple[Item, ...]
    holdings: tuple[StockItem, ...]
    seen: Failures
    pace: PopulatePace
    pitch_m: float
    today: date

    @property
    def cost(self) -> float:
        return sum(item.cost for item in self.items)

    @property
    def others(self) -> tuple[StockItem, ...]:
        """What lies there and is not reckoned with."""
        return tuple(holding for holding in self.holdings if holding.item not in NAMES)

    @property
    def lengths(self) -> tuple[StockItem, ...]:
        """Rolls and offcuts, each with its length."""
        return tuple(holding for holding in self.holdings if holding.item in ("roll", "offcut") and holding.length_mm)

    @cached_property
    def run_outs(self) -> tuple[RunOut, ...]:
        """What goes with every pixel populated, where it was counted: pixels, and strap by the metre."""
        per_pixel: Mapping[str, float] = {"pixel": 1.0, "strap": self.pitch_m}
        counted = {holding.item for holding in self.holdings}
        return tuple(
            self._run_out(item, per_pixel[item.key]) for item in self.items if item.key in counted & per_pixel.keys()
        )

    def _run_out(self, item: Item, each: float) -> RunOut:
        used = (self.pace.populated + self.seen.failed) * each if item.key == "pixel" else self.pace.populated * each
        left, need = max(0.0, item.have - used), max(0.0, item.need + item.spares - used)
        a_day = self.pace.a_day * each
        return RunOut(item.what, item.unit, left, a_day, runs_out(self.today, left, need, a_day))
