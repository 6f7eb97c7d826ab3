"""What a plan needs to know beyond the ball itself: strap in stock, wiring, power, mass, prices.

Every default that is a guess of ours says so; the lead puts in what the own parts' data sheets and scales say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, TypeVar

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.limits import Limit, number_problems
from buildlog.core.plan.wiring.wire import wire

G = TypeVar("G")


@dataclass(frozen=True, slots=True)
class Offcut:
    """Strap lying around: how long [m] and how many of that length."""

    length_m: float
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StockParameters:
    """Strap as it is bought and as it lies there. Without ``roll_m`` there is no cut list."""

    roll_m: float | None = None
    rolls: int | None = None  # in stock; None = as many as it takes
    offcuts: tuple[Offcut, ...] = ()
    kerf_holes: int = 0  # holes lost at each cut
    patch_pixels: int = 4  # holes of the short piece that bridges a joint; a guess, 0 = no patches

    def __post_init__(self) -> None:
        found = [number_problems(one, _OFFCUT) for one in self.offcuts]
        _refuse([*number_problems(self, _STOCK), *(problem for problems in found for problem in problems)])


_STOCK = {
    "roll_m": Limit("roll", "the length of a roll", 0.01, 10_000.0, unit="m", optional=True),
    "rolls": Limit("rolls", "the number of rolls in stock", 0, 100_000, True, optional=True),
    "kerf_holes": Limit("kerf_holes", "the number of holes lost at a cut", 0, 100, True),
    "patch_pixels": Limit("patch_pixels", "the length of a patch, in holes,", 0, 1_000, True),
}
_OFFCUT = {
    "length_m": Limit("offcuts", "the length of an offcut", 0.001, 10_000.0, unit="m"),
    "quantity": Limit("offcuts", "the number of offcuts of one length", 1, 100_000, True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringParameters:
    """Where the controller's box is, and how fast data runs."""

    box_deg: float = 180.0  # polar angle of the box: 180 = at the bottom
    box_rib: int = 1
    box_outside_m: float = 0.0  # from the box to where its wires meet the frame
    lead_slack_m: float = 0.5  # added to each lead wire; a guess
    bit_ns: int = 1250  # 800 kbit/s
    bits: int = 24  # a pixel; 32 where it has a white of its own
    reset_us: int = 280  # newer chips; older ones 50

    def __post_init__(self) -> None:
        _refuse(number_problems(self, _WIRING))


_WIRING = {
    "box_deg": Limit("box_deg", "the polar angle of the box", 0.0, 180.0, unit="°"),
    "box_rib": Limit("box_rib", "the rib of the box", 1, 200, True),
    "box_outside_m": Limit("box_outside", "the way from the box to the frame", 0.0, 1_000.0, unit="m"),
    "lead_slack_m": Limit("lead_slack", "the slack of a lead wire", 0.0, 100.0, unit="m"),
    "bit_ns": Limit("bit_ns", "the time of a bit, in nanoseconds,", 50, 100_000, True),
    "bits": Limit("bits", "the number of bits a pixel takes", 1, 128, True),
    "reset_us": Limit("reset_us", "the reset time, in microseconds,", 1, 100_000, True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerParameters:
    """Pixels, wire, supplies and mains. Measured readings [W at the mains input] stand beside the prediction."""

    volts: float = 12.0
    idle_ma: float = 1.0  # a guess; read it off the data sheet
    full_ma: float = 55.5  # three outputs of 18.5 mA: WS2811 data sheet; other pixels differ
    brightness: float = 1.0  # share of full power at most; limit it in the controller
    typical_share: float = 0.25  # of that, while content runs; a guess
    least_volts: float = 10.5  # at the worst pixel; a guess
    feed_drop_volts: float = 0.3  # allowed from the supply to an injection
    chain_wire: str = "AWG 18"
    hop_m: float | None = None  # wire from pixel to pixel; None = the pitch
    wire_celsius: float = 40.0
    supply_watts: float = 350.0
    supply_efficiency: float = 0.87
    load_share: float = 0.8  # continuous load of supplies and breakers
    mains_volts: float = 230.0
    breaker_amps: float = 16.0
    box_rise_celsius: float = 10.0
    reading_pixels: int | None = None  # pixels connected when the readings were taken; None = all
    reading_idle_w: float | None = None
    reading_typical_w: float | None = None
    reading_peak_w: float | None = None

    def __post_init__(self) -> None:
        problems = number_problems(self, _POWER)
        if not problems and self.least_volts >= self.volts - self.feed_drop_volts:
            what = f"The least voltage ({self.least_volts:g} V) leaves nothing to lose after the feed"
            most = f"{self.volts - self.feed_drop_volts:g} V"
            problems.append(
                Problem(f"{what}: it must be below {most}, or the drop in the feed smaller.", "least_volts")
            )
        try:
            wire(self.chain_wire)
        except Refused as refused:
            problems += refused.problems
        _refuse(problems)


_POWER = {
    "volts": Limit("volts", "the pixels' voltage", 3.0, 60.0, unit=" V"),
    "idle_ma": Limit("idle_ma", "the idle current of a pixel", 0.0, 1_000.0, unit=" mA"),
    "full_ma": Limit("full_ma", "the full current of a pixel", 0.0, 10_000.0, unit=" mA"),
    "brightness": Limit("brightness", "the brightness", 0.0, 1.0),
    "typical_share": Limit("typical_share", "the typical share of full power", 0.0, 1.0),
    "least_volts": Limit("least_volts", "the least voltage at a pixel", 1.0, 60.0, unit=" V"),
    "feed_drop_volts": Limit("feed_drop_volts", "the voltage lost on the way to an injection", 0.0, 20.0, unit=" V"),
    "hop_m": Limit("hop", "the wire from pixel to pixel", 0.001, 10.0, unit="m", optional=True),
    "wire_celsius": Limit("wire_celsius", "the temperature of the wire", -40.0, 90.0, unit=" °C"),
    "supply_watts": Limit("supply_watts", "the rating of a power supply", 1.0, 100_000.0, unit=" W"),
    "supply_efficiency": Limit("supply_efficiency", "the efficiency of a power supply", 0.3, 1.0),
    "load_share": Limit("load_share", "the share of a rating used continuously", 0.1, 1.0),
    "mains_volts": Limit("mains_volts", "the mains voltage", 90.0, 480.0, unit=" V"),
    "breaker_amps": Limit("breaker_amps", "the rating of the breaker", 1.0, 400.0, unit=" A"),
    "box_rise_celsius": Limit("box_rise_celsius", "the temperature rise in the box", 1.0, 60.0, unit=" K"),
    "reading_pixels": Limit(
        "reading_pixels", "the pixels connected at the reading", 1, 10_000_000, True, optional=True
    ),
    "reading_idle_w": Limit("reading_idle", "the reading at rest", 0.1, 1e7, unit=" W", optional=True),
    "reading_typical_w": Limit("reading_typical", "the typical reading", 0.1, 1e7, unit=" W", optional=True),
    "reading_peak_w": Limit("reading_peak", "the peak reading", 0.1, 1e7, unit=" W", optional=True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MassParameters:
    """What the parts weigh. All defaults are guesses: put ten pixels on a kitchen scale."""

    pixel_g: float = 8.0  # with its share of wire to the next
    strap_g_m: float = 40.0
    lead_g_m: float = 45.0
    frame_kg: float = 0.0
    frame_height_m: float | None = None  # centre of mass of the frame above the ball's lowest point; None = centre

    def __post_init__(self) -> None:
        _refuse(number_problems(self, _MASS))


_MASS = {
    "pixel_g": Limit("pixel_g", "the mass of a pixel", 0.0, 10_000.0, unit=" g"),
    "strap_g_m": Limit("strap_g_m", "the mass of a metre of strap", 0.0, 100_000.0, unit=" g"),
    "lead_g_m": Limit("lead_g_m", "the mass of a metre of lead wire", 0.0, 100_000.0, unit=" g"),
    "frame_kg": Limit("frame_kg", "the mass of the frame", 0.0, 1e6, unit=" kg"),
    "frame_height_m": Limit("frame_height", "the height of the frame's centre", -50.0, 150.0, unit="m", optional=True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyingParameters:
    """How sure spares must be, and what things cost (in whatever money; 0 = no price)."""

    service_level: float = 0.95
    failure_share: float = 0.01  # expected before anything was tested; a guess
    failure_weight: float = 200.0  # how many pixels' worth of testing that guess counts for
    price_pixel: float = 0.0
    price_roll: float = 0.0
    price_supply: float = 0.0
    price_output: float = 0.0
    price_lead_m: float = 0.0

    def __post_init__(self) -> None:
        _refuse(number_problems(self, _BUYING))


_BUYING = {
    "service_level": Limit("service_level", "the service level of spares", 0.5, 0.9999),
    "failure_share": Limit("failure_share", "the share of pixels expected to fail", 0.0001, 0.5),
    "failure_weight": Limit("failure_weight", "the weight of that expectation, in pixels,", 1.0, 1e6),
    **{
        name: Limit(name, f"the price of {what}", 0.0, 1e9)
        for name, what in {
            "price_pixel": "a pixel",
            "price_roll": "a roll of strap",
            "price_supply": "a power supply",
            "price_output": "a controller output",
            "price_lead_m": "a metre of lead wire",
        }.items()
    },
}

GROUPS: dict[str, type[Any]] = {
    "stock": StockParameters,
    "wiring": WiringParameters,
    "power": PowerParameters,
    "mass": MassParameters,
    "buying": BuyingParameters,
}
LIMITS: dict[str, Mapping[str, Limit]] = {
    "stock": _STOCK,
    "wiring": _WIRING,
    "power": _POWER,
    "mass": _MASS,
    "buying": _BUYING,
}


def _refuse(problems: list[Problem]) -> None:
    if problems:
        raise Refused(problems)


def group_to_json(group: Any) -> dict[str, Any]:
    """One group of parameters as a plain dict."""
    out = {part.name: getattr(group, part.name) for part in fields(group)}
    if "offcuts" in out:
        out["offcuts"] = [{"length_m": one.length_m, "quantity": one.quantity} for one in out["offcuts"]]
    return out


def group_from_json(kind: type[G], data: Any) -> G:
    """The group that ``group_to_json`` wrote. Raises TypeError on unknown names."""
    values = dict(data)
    if "offcuts" in values:
        values["offcuts"] = tuple(Offcut(**one) for one in values["offcuts"])
    return kind(**values)
