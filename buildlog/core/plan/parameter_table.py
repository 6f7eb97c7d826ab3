"""The table of a plan's parameters: default, limits, unit and words of each, in one row.

The row is also the field of the dataclass that holds the value. Form, command, JSON and OPTIONS.md are read from
here; a new parameter is a new row. Every default that is a guess of ours says so; the lead puts in what the own
parts' data sheets and scales say.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, TypeVar

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.kinds import (
    BAY_RANGE,
    CHOICE,
    COUNT,
    HAND_PIECES,
    LENGTH,
    NUMBER,
    OFFCUTS,
    PEOPLE,
    RING_RANGE,
    SHARE,
    SWITCH,
    WIRE,
    Offcut,
)
from buildlog.core.plan.parameter import Group, Kind, Parameter
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES

T = TypeVar("T")
PEOPLE_WHO_FIT = tuple((stage.value, stage.facts.people) for stage in STAGES if stage.facts.people is not None)

GROUPS = (
    BALL := Group("ball", "Ball"),
    OPENINGS := Group("openings", "Openings"),
    STRAP := Group("strap", "Strap"),
    CHANNELS := Group("channels", "Channels"),
    CLOSING := Group("closing", "Closing the way in", folded=True),
    CROWD := Group("people", "People", folded=True),
    ROLLS := Group("rolls", "Rolls and offcuts", folded=True),
    ELECTRIC := Group("power", "Power", folded=True),
    WEIGHT := Group("mass", "Weight", folded=True),
    BUYING := Group("supplies", "Spares and prices", folded=True),
)

# Keys are what files hold, words what the form says.
CHANNEL_CUTS = {"anywhere": "anywhere", "joints": "at a joint only", "rings": "at a ring's end only"}
ENDS = {"top": "top", "bottom": "bottom"}


def row(
    group: Group, kind: Kind, default: T, least: float = -math.inf, most: float = math.inf, unit: str = "", *,
    noun: str = "", label: str, help: str, hint: str | None = None, more: bool = False,
    choices: Mapping[str, str] | None = None, name: str = "",
) -> T:  # fmt: skip
    """A field with its ``Parameter`` beside it; the option's name is the field's, a length's without ``_m``."""
    parameter = Parameter(kind, noun, least, most, unit, group, label, help, hint, more, choices or {}, default, name)
    column: T = field(default=default, metadata={"parameter": parameter})
    return column


@dataclass(frozen=True, slots=True)
class MeasuredRing:
    """A ring as the frame has it. ``height_m`` is above the lowest point of the full ball."""

    ring: int
    pixels: int
    height_m: float | None = None
    closing: bool = False


# A millimetre of pitch and a hundred metres of ball are far outside what a crew hangs by hand: beyond them a unit was
# forgotten, and saying so helps more than a plan of a billion pixels.
# fmt: off
@dataclass(frozen=True, slots=True, kw_only=True)
class BallParameters:
    """The ball itself, its strap and its channels: lengths in metres, angles in degrees, else a count or a share.

    An opening is given as the angle of the first or last ring, or as its pixel count. ``bottom_deg`` up to 90
    counts from the bottom, above 90 from the top: 20 and 160 are the same ring. Without an opening the rings
    begin half a spacing from the pole. ``measured`` replaces the formula; with a ring spacing or a ring count
    beside it, it corrects single rings of the formula.
    """

    diameter_m: float | None = row(BALL, LENGTH, None, 0.05, 100.0, noun="the diameter", label="Diameter",
        help="diameter of the ball at the pixels", hint="At the pixels, like 2.6m or 8ft.")
    pitch_m: float | None = row(BALL, LENGTH, None, 0.001, 10.0, noun="the pitch", label="Pitch",
        help="distance between neighbouring pixels along a strap", hint="From pixel to pixel, like 30mm or 1in.")
    ring_spacing_m: float | None = row(BALL, LENGTH, None, 0.001, 50.0, noun="the ring spacing", label="Ring spacing",
        help="distance between neighbouring rings along the surface", hint="From ring to ring along the surface.")
    rings_count: int | None = row(BALL, COUNT, None, 1, 5_000, noun="the number of rings", label="Rings",
        help="number of rings, instead of the spacing", hint="How many, instead of the spacing.")
    top_pixels: int | None = row(OPENINGS, COUNT, None, 1, 100_000, noun="the pixel count of the first ring",
        label="First ring, pixels", help="pixels of the first ring: where the top opening ends")
    top_deg: float | None = row(OPENINGS, NUMBER, None, 0.0, 180.0, "°", noun="the angle of the first ring",
        label="First ring, angle", help="polar angle of the first ring, instead of its pixels",
        hint="Instead of its pixels; 0° is the top.")
    bottom_pixels: int | None = row(OPENINGS, COUNT, None, 1, 100_000, noun="the pixel count of the last ring",
        label="Last ring, pixels", help="pixels of the last ring: where the bottom opening begins")
    bottom_deg: float | None = row(OPENINGS, NUMBER, None, 0.0, 180.0, "°", noun="the angle of the last ring",
        label="Last ring, angle", help="angle of the last ring, from the bottom up to 90, from the top above",
        hint="Up to 90° from the bottom, above from the top.")
    snap_share: float = row(BALL, SHARE, 0.0, 0.0, 0.45, "%", noun="the share of the spacing that a ring may move",
        label="Move rings to whole pitches, by up to", more=True,
        help="share of the spacing a ring may move to hold whole pitches", hint="Of the ring spacing; 0 leaves them.")
    ribs: int | None = row(BALL, COUNT, None, 2, 200, noun="the number of ribs", label="Ribs",
        help="ribs of the frame; joints go to the nearest one", hint="Joints go to the nearest one.")
    measured: tuple[MeasuredRing, ...] | None = None  # from a file, no option

    max_segment: int = row(STRAP, COUNT, 100, 1, 100_000, "pixels", noun="the pixel count of the longest segment",
        label="Longest segment", help="most pixels in one segment", hint="What one person can carry and hang.")
    min_segment: int = row(STRAP, COUNT, 1, 1, 100_000, "pixels", noun="the pixel count of the shortest segment",
        label="Shortest segment", help="fewest pixels in one segment", hint="")
    strap_width_m: float = row(  # a common strap; a guess of ours, to be measured
        STRAP, LENGTH, 0.025, 0.0, 1.0, noun="the strap width",
        label="Strap width", help="width of the strap", hint="", more=True)
    edge_strain_limit: float = row(STRAP, SHARE, 0.08, 0.0, 1.0, "%", noun="the edge strain allowed",
        label="Edge strain, at most", help="share by which the strap's edges may stretch",
        hint="How far the strap's edges may stretch.", more=True)
    seam_rib: int = row(STRAP, COUNT, 1, 1, 200, noun="the rib of the seam", label="Seam at rib",
        help="rib on which the rings close", hint="Where the rings close.", more=True)
    seam_stagger: int = row(STRAP, COUNT, 0, 0, 200, "bays", noun="the number of bays between seams",
        label="Seam moves on by", help="bays by which each ring's seam moves on",
        hint="From each ring to the next; 0 = in line.", more=True)
    hand_pieces: tuple[tuple[int, tuple[int, ...]], ...] = row(  # ring → its pieces
        STRAP, HAND_PIECES, (), label="Rings cut by hand", help="rings cut by hand, like 12: 50 48 48; 13: 60 60",
        hint="Ring: pieces, like 12: 50 48 48; 13: 60 60", more=True)
    closing_rings: tuple[int, int] | None = row(CLOSING, RING_RANGE, None, label="Closing rings",
        help="rings that close the way in, like 88-90", hint="The rings that close the way in, like 88-90.")
    closing_bays: tuple[int, int] | None = row(  # with closing_rings: a door; may run over the first rib (7, 2)
        CLOSING, BAY_RANGE, None, label="Closing bays",
        help="with closing rings: bays of the door, like 7-9", hint="Only these bays: a door, like 7-9.")

    capacity: int = row(  # 800 kbit/s chips still reach 60 pictures a second
        CHANNELS, COUNT, 500, 1, 1_000_000, "pixels", noun="the capacity of a channel, in pixels,",
        label="Most on one channel", help="most pixels on one channel", hint="")
    outputs: int | None = row(CHANNELS, COUNT, None, 1, 100_000, noun="the number of outputs", label="Outputs",
        help="outputs of the controllers", hint="Of all controllers together.")
    spare_share: float = row(CHANNELS, SHARE, 0.1, 0.0, 0.9, "%", noun="the share of outputs kept spare",
        label="Outputs kept spare", help="share of the outputs kept spare", hint="", more=True)
    channel_cut: str = row(CHANNELS, CHOICE, "anywhere", choices=CHANNEL_CUTS, label="A channel may end",
        help="where a channel may end", hint="")
    start_from: str = row(CHANNELS, CHOICE, "top", choices=ENDS, label="Data begin at the",
        help="end of the ball where the data begin", hint="", more=True)
    alternate: bool = row(CHANNELS, SWITCH, False, label="Turn the other way on every second ring",
        help="turning direction changes from ring to ring", hint="", more=True)
    people: tuple[tuple[str, int], ...] = row(CROWD, PEOPLE, PEOPLE_WHO_FIT, label="People who fit at once",
        help="how many fit at a stage at once, like wire=2",
        hint="By stage: wire=2 test=2. A stage not named has no limit.")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockParameters:
    """Strap as it is bought and as it lies there. Without ``roll_m`` there is no cut list."""

    roll_m: float | None = row(ROLLS, LENGTH, None, 0.01, 10_000.0, noun="the length of a roll",
        label="Length of a roll", help="length of a roll of strap; gives a cut list", hint="Gives a cut list.")
    rolls: int | None = row(ROLLS, COUNT, None, 0, 100_000, noun="the number of rolls in stock",
        label="Rolls in stock", help="rolls in stock", hint="Empty: as many as it takes.")
    offcuts: tuple[Offcut, ...] = row(ROLLS, OFFCUTS, (), label="Offcuts in stock",
        help="offcuts in stock, like 3 x 1.2m; 900mm", hint="Like 3 x 1.2m; 900mm")
    kerf_holes: int = row(ROLLS, COUNT, 0, 0, 100, "holes", noun="the number of holes lost at a cut",
        label="Lost at each cut", help="holes lost at each cut", hint="")
    patch_pixels: int = row(  # a guess
        ROLLS, COUNT, 4, 0, 1_000, "holes", noun="the length of a patch, in holes,", label="Patch at a joint",
        help="holes of the patch that bridges a joint, 0 = none", hint="0 = no patches.")

    def __post_init__(self) -> None:
        refuse(check_alone(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringParameters:
    """Where the controller's box is, and how fast data runs."""

    box_deg: float = row(CHANNELS, NUMBER, 180.0, 0.0, 180.0, "°", noun="the polar angle of the box",
        label="Controller's box, angle", help="polar angle of the controller's box, 180 = at the bottom",
        hint="180° is at the bottom.", more=True)
    box_rib: int = row(CHANNELS, COUNT, 1, 1, 200, noun="the rib of the box", label="Controller's box, rib",
        help="rib at which the box is", hint="", more=True)
    box_outside_m: float = row(CHANNELS, LENGTH, 0.0, 0.0, 1_000.0, noun="the way from the box to the frame",
        label="Wire from the box to the frame", help="wire from the box to the frame", hint="", more=True)
    lead_slack_m: float = row(  # a guess
        CHANNELS, LENGTH, 0.5, 0.0, 100.0, noun="the slack of a lead wire",
        label="Slack of a lead wire", help="slack of each lead wire", hint="", more=True)
    bit_ns: int = row(CHANNELS, COUNT, 1250, 50, 100_000, "ns", noun="the time of a bit, in nanoseconds,",
        label="Time of a bit", help="time of a bit in nanoseconds: 1250 = 800 kbit/s",
        hint="1250 is 800 kbit/s.", more=True)
    bits: int = row(CHANNELS, COUNT, 24, 1, 128, noun="the number of bits a pixel takes", label="Bits a pixel",
        help="bits a pixel takes: 24, or 32 with a white of its own", hint="24, or 32 with a white of its own.",
        more=True)
    reset_us: int = row(  # newer chips; older ones 50
        CHANNELS, COUNT, 280, 1, 100_000, "µs", noun="the reset time, in microseconds,",
        label="Reset time", help="reset time in microseconds", hint="", more=True)

    def __post_init__(self) -> None:
        refuse(check_alone(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerParameters:
    """Pixels, wire, supplies and mains. Measured readings [W at the mains input] stand beside the prediction."""

    volts: float = row(ELECTRIC, NUMBER, 12.0, 3.0, 60.0, "V", noun="the pixels' voltage",
        label="Voltage of the pixels", help="voltage of the pixels", hint="")
    idle_ma: float = row(  # a guess; read it off the data sheet
        ELECTRIC, NUMBER, 1.0, 0.0, 1_000.0, "mA", noun="the idle current of a pixel",
        label="Current of a dark pixel", help="current of a dark pixel in milliamperes", hint="")
    full_ma: float = row(  # three outputs of 18.5 mA: WS2811 data sheet; other pixels differ
        ELECTRIC, NUMBER, 55.5, 0.0, 10_000.0, "mA", noun="the full current of a pixel", label="Current at full white",
        help="current of a pixel at full white, above idle, in milliamperes", hint="Above the dark one.")
    brightness: float = row(ELECTRIC, SHARE, 1.0, 0.0, 1.0, "%", noun="the brightness", label="Brightness, at most",
        help="brightness at most, as limited in the controller", hint="As limited in the controller.")
    typical_share: float = row(  # of that, while content runs; a guess
        ELECTRIC, SHARE, 0.25, 0.0, 1.0, "%", noun="the typical share of full power",
        label="While content runs", help="share of that while content runs", hint="Of that.")
    least_volts: float = row(  # a guess
        ELECTRIC, NUMBER, 10.5, 1.0, 60.0, "V", noun="the least voltage at a pixel",
        label="Least voltage at a pixel", help="least voltage at the worst pixel", hint="")
    feed_drop_volts: float = row(ELECTRIC, NUMBER, 0.3, 0.0, 20.0, "V",
        noun="the voltage lost on the way to an injection", label="Lost on the way to an injection",
        help="voltage that may be lost on the way to an injection", hint="")
    hop_m: float | None = row(  # None = the pitch
        ELECTRIC, LENGTH, None, 0.001, 10.0, noun="the wire from pixel to pixel", label="Wire from pixel to pixel",
        help="wire from pixel to pixel, if longer than the pitch", hint="If longer than the pitch.")
    wire_celsius: float = row(ELECTRIC, NUMBER, 40.0, -40.0, 90.0, "°C", noun="the temperature of the wire",
        label="Temperature of the wire", help="temperature of the wire", hint="")
    supply_watts: float = row(ELECTRIC, NUMBER, 350.0, 1.0, 100_000.0, "W", noun="the rating of a power supply",
        label="Rating of a power supply", help="rating of a power supply", hint="")
    supply_efficiency: float = row(ELECTRIC, SHARE, 0.87, 0.3, 1.0, "%", noun="the efficiency of a power supply",
        label="Its efficiency", help="efficiency of a power supply", hint="")
    load_share: float = row(ELECTRIC, SHARE, 0.8, 0.1, 1.0, "%", noun="the share of a rating used continuously",
        label="Continuous load, at most", help="share of a rating that may be used continuously",
        hint="Of supplies and breakers.")
    mains_volts: float = row(ELECTRIC, NUMBER, 230.0, 90.0, 480.0, "V", noun="the mains voltage",
        label="Mains voltage", help="mains voltage", hint="")
    breaker_amps: float = row(ELECTRIC, NUMBER, 16.0, 1.0, 400.0, "A", noun="the rating of the breaker",
        label="Breaker", help="rating of the breaker", hint="")
    box_rise_celsius: float = row(ELECTRIC, NUMBER, 10.0, 1.0, 60.0, "K", noun="the temperature rise in the box",
        label="Temperature rise in the box", help="temperature rise allowed in the box", hint="")
    reading_pixels: int | None = row(ELECTRIC, COUNT, None, 1, 10_000_000, noun="the pixels connected at the reading",
        label="Pixels connected at the reading", help="pixels connected when the readings were taken",
        hint="Empty: all.")
    reading_idle_w: float | None = row(ELECTRIC, NUMBER, None, 0.1, 1e7, "W", noun="the reading at rest",
        label="Reading at rest", help="reading at the mains at rest, in watts", hint="At the mains.",
        name="reading_idle")
    reading_typical_w: float | None = row(ELECTRIC, NUMBER, None, 0.1, 1e7, "W", noun="the typical reading",
        label="Reading while content runs", help="reading at the mains while content runs, in watts",
        hint="At the mains.", name="reading_typical")
    reading_peak_w: float | None = row(ELECTRIC, NUMBER, None, 0.1, 1e7, "W", noun="the peak reading",
        label="Reading at full brightness", help="reading at the mains at full brightness, in watts",
        hint="At the mains.", name="reading_peak")
    chain_wire: str = row(ELECTRIC, WIRE, "AWG 18", label="Wire of the chain",
        help="wire from pixel to pixel, like AWG 18 or 0.75 mm2", hint="AWG 18 or 0.75 mm2")

    def __post_init__(self) -> None:
        problems = check_alone(self)
        alone = {problem.field for problem in problems} - {"chain_wire"}
        if not alone and self.least_volts >= self.volts - self.feed_drop_volts:
            what = _(
                "The least voltage ({least:g} V) leaves nothing to lose after the feed: it must be below {most:g} V, "
                "or the drop in the feed smaller."
            )
            most = self.volts - self.feed_drop_volts
            problems.append(Problem(what, "least_volts", least=self.least_volts, most=most))
        refuse(problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class MassParameters:
    """What the parts weigh. All defaults are guesses: put ten pixels on a kitchen scale."""

    pixel_g: float = row(WEIGHT, NUMBER, 8.0, 0.0, 10_000.0, "g", noun="the mass of a pixel", label="A pixel",
        help="mass of a pixel with its share of wire, in grams", hint="With its share of wire.")
    strap_g_m: float = row(WEIGHT, NUMBER, 40.0, 0.0, 100_000.0, "g", noun="the mass of a metre of strap",
        label="A metre of strap", help="mass of a metre of strap, in grams", hint="")
    lead_g_m: float = row(WEIGHT, NUMBER, 45.0, 0.0, 100_000.0, "g", noun="the mass of a metre of lead wire",
        label="A metre of lead wire", help="mass of a metre of lead wire, in grams", hint="")
    frame_kg: float = row(WEIGHT, NUMBER, 0.0, 0.0, 1e6, "kg", noun="the mass of the frame", label="The frame",
        help="mass of the frame, in kilograms", hint="")
    frame_height_m: float | None = row(  # None = the ball's centre
        WEIGHT, LENGTH, None, -50.0, 150.0, noun="the height of the frame's centre",
        label="Height of the frame's centre", help="height of the frame's centre of mass above the ball's lowest point",
        hint="Above the ball's lowest point; empty: the middle.")

    def __post_init__(self) -> None:
        refuse(check_alone(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyingParameters:
    """How sure spares must be, and what things cost (in whatever money; 0 = no price)."""

    service_level: float = row(BUYING, SHARE, 0.95, 0.5, 0.9999, "%", noun="the service level of spares",
        label="Chance that spares last", help="chance that the spares are enough", hint="")
    failure_share: float = row(  # before anything was tested; a guess
        BUYING, SHARE, 0.01, 0.0001, 0.5, "%", noun="the share of pixels expected to fail",
        label="Pixels expected to fail", help="share of pixels expected to fail, before any was tested",
        hint="Before any was tested.")
    failure_weight: float = row(BUYING, NUMBER, 200.0, 1.0, 1e6, "pixels",
        noun="the weight of that expectation, in pixels,", label="That expectation counts for",
        help="how many pixels' worth of testing that expectation counts for", hint="Of testing.")
    price_pixel: float = row(BUYING, NUMBER, 0.0, 0.0, 1e9, noun="the price of a pixel",
        label="Price of a pixel", help="price of a pixel", hint="")
    price_roll: float = row(BUYING, NUMBER, 0.0, 0.0, 1e9, noun="the price of a roll of strap",
        label="Price of a roll of strap", help="price of a roll of strap", hint="")
    price_supply: float = row(BUYING, NUMBER, 0.0, 0.0, 1e9, noun="the price of a power supply",
        label="Price of a power supply", help="price of a power supply", hint="")
    price_output: float = row(BUYING, NUMBER, 0.0, 0.0, 1e9, noun="the price of a controller output",
        label="Price of a controller output", help="price of a controller output", hint="")
    price_lead_m: float = row(BUYING, NUMBER, 0.0, 0.0, 1e9, noun="the price of a metre of lead wire",
        label="Price of a metre of lead wire", help="price of a metre of lead wire", hint="")

    def __post_init__(self) -> None:
        refuse(check_alone(self))
# fmt: on


# The parts of the parameters, by the name they have there and in JSON.
PARTS: dict[str, type[Any]] = {
    "stock": StockParameters,
    "wiring": WiringParameters,
    "power": PowerParameters,
    "mass": MassParameters,
    "buying": BuyingParameters,
}


def rows_of(kind: type[Any]) -> tuple[Parameter, ...]:
    """The rows of one dataclass, in order."""
    if kind not in _ROWS:
        _ROWS[kind] = tuple(_rows(kind))
    return _ROWS[kind]


_ROWS: dict[type[Any], tuple[Parameter, ...]] = {}  # read from the fields once


def _rows(kind: type[Any]) -> Iterator[Parameter]:
    part = next((name for name, owner in PARTS.items() if owner is kind), "")
    for column in fields(kind):
        if parameter := column.metadata.get("parameter"):
            name = parameter.name or _option(column.name, parameter.kind)
            yield replace(parameter, field=column.name, part=part, name=name)


def _option(name: str, kind: Kind) -> str:
    return name.removesuffix("_m") if kind is LENGTH else name


def check_alone(values: Any) -> list[Problem]:
    """What is wrong with the values of one dataclass, each looked at alone."""
    rows = rows_of(type(values))
    return [problem for row in rows for problem in row.kind.check(getattr(values, row.field), row)]


def refuse(problems: Iterable[Problem]) -> None:
    """Raise Refused with all of them, if there are any."""
    if problems := tuple(problems):
        raise Refused(problems)


PARAMETERS: tuple[Parameter, ...] = (
    *rows_of(BallParameters),
    *(parameter for kind in PARTS.values() for parameter in rows_of(kind)),
)
