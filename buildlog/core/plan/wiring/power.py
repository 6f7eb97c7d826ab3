"""What the pixels draw, where power has to be fed in, and what supplies, breaker and box must stand.

A pixel draws its idle current and a share of its full current. All figures are for planning: local codes and
licensed people decide about anything on the mains.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from buildlog.core.plan.parameter_table import PowerParameters
from buildlog.core.plan.parts import Feed
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.channels import partition
from buildlog.core.plan.wiring.leads import leads_m
from buildlog.core.plan.wiring.place import on_channel
from buildlog.core.plan.wiring.wire import BY_AREA, BY_AWG, chain_drops, feed_pixels, wire

LEVELS = ("idle", "typical", "peak")
_AIR = 1.2 * 1005.0  # heat that a cubic metre of air takes up [J/(m³·K)], at 20 °C and sea level


@dataclass(frozen=True, slots=True)
class Level:
    """Draw of the whole ball at rest, while content runs, or at its peak."""

    level: str
    dc_w: float
    mains_w: float
    mains_a: float
    predicted_w: float  # at the mains, before readings
    reading_w: float | None  # at the mains, scaled to all pixels


@dataclass(frozen=True, slots=True)
class ChainPower:
    """One channel at its peak: current, the pixels where power goes in, and the voltage of its worst pixel."""

    channel: int
    amps: float
    feeds: tuple[int, ...]
    feed_amps: tuple[float, ...]
    worst_volts: float
    feed_awg: str  # the thinnest that keeps the drop on every feed; "" = none listed does
    feed_mm2: str


@dataclass(frozen=True, slots=True)
class Supply:
    """One power supply and the feeds it carries, as (channel, pixel)."""

    supply: int
    watts: float
    feeds: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class WireChoice:
    """What another chain wire would take: injections over all channels, and the worst pixel's voltage."""

    wire: str
    feeds: int
    worst_volts: float


@dataclass(frozen=True, slots=True)
class Power:
    """The whole; ``used`` are the parameters after readings corrected them."""

    used: PowerParameters
    levels: tuple[Level, ...]
    chains: tuple[ChainPower, ...]
    supplies: tuple[Supply, ...]
    wires: tuple[WireChoice, ...]
    breaker_continuous_a: float
    circuits: int
    heat_w: float
    airflow_m3_h: float
    warnings: tuple[str, ...]

    def level(self, name: str) -> Level:
        return next(level for level in self.levels if level.level == name)


@lru_cache(maxsize=4)  # a frozen plan is looked at again and again; readings and ratings are parts of it
def power_of(plan: BallPlan) -> Power:
    """Power of a plan: levels, channels with their injections, supplies, breaker, heat."""
    nominal = plan.parameters.power
    used = corrected(nominal, plan.totals.pixels)
    chains = _chains(plan, used)
    levels = tuple(_level(name, nominal, used, plan.totals.pixels) for name in LEVELS)
    supplies = _supplies(plan, chains, used)
    peak = levels[-1]
    heat = peak.dc_w * (1 / used.supply_efficiency - 1)
    flow = heat / (_AIR * used.box_rise_celsius) * 3600
    limit = used.load_share * used.breaker_amps
    circuits = max(1, -int(-peak.mains_a // limit))
    wires = tuple(_wire_choice(plan, used, name) for name in (*BY_AWG, *BY_AREA))
    whole = Power(used, levels, chains, supplies, wires, limit, circuits, heat, flow, ())
    return replace(whole, warnings=tuple(_cautions(whole)))


def pixel_amps(used: PowerParameters, level: str = "peak") -> float:
    """Current of one pixel [A]: idle + brightness × full share.

    >>> round(pixel_amps(PowerParameters(idle_ma=1.0, full_ma=55.5, brightness=0.5)), 5)
    0.02875
    """
    share = {"idle": 0.0, "typical": used.typical_share, "peak": 1.0}[level]
    return (used.idle_ma + share * used.brightness * used.full_ma) / 1000


def _mains_w(used: PowerParameters, level: str, pixels: int) -> float:
    return pixels * pixel_amps(used, level) * used.volts / used.supply_efficiency


def _level(name: str, nominal: PowerParameters, used: PowerParameters, pixels: int) -> Level:
    mains = _mains_w(used, name, pixels)
    reading: float | None = getattr(nominal, f"reading_{name}_w")
    scaled = None if reading is None else reading * pixels / (nominal.reading_pixels or pixels)
    predicted = _mains_w(nominal, name, pixels)
    return Level(name, mains * used.supply_efficiency, mains, mains / used.mains_volts, predicted, scaled)


def corrected(nominal: PowerParameters, pixels: int) -> PowerParameters:
    """The parameters as readings at the mains correct them: idle current, full current, typical share, in this order.

    A reading of fewer pixels counts for those only.
    """
    connected, used = nominal.reading_pixels or pixels, nominal
    if nominal.reading_idle_w is not None:
        used = replace(used, idle_ma=_milliamps(nominal.reading_idle_w, used, connected))
    if nominal.reading_peak_w is not None and nominal.brightness > 0:
        over = _milliamps(nominal.reading_peak_w, used, connected) - used.idle_ma
        used = replace(used, full_ma=max(0.0, over / nominal.brightness))
    span = used.brightness * used.full_ma
    if nominal.reading_typical_w is not None and span > 0:
        over = _milliamps(nominal.reading_typical_w, used, connected) - used.idle_ma
        used = replace(used, typical_share=min(1.0, max(0.0, over / span)))
    return used


def _milliamps(reading_w: float, used: PowerParameters, pixels: int) -> float:
    return reading_w * used.supply_efficiency / used.volts / pixels * 1000


def _chains(plan: BallPlan, used: PowerParameters) -> tuple[ChainPower, ...]:
    hop, amps = _hop_ohm(plan, used, used.chain_wire), pixel_amps(used)
    worst: dict[tuple[int, tuple[int, ...]], float] = {}
    out = []
    for channel, feeds in zip(plan.channels, feeds_of(plan, used), strict=True):
        pixels, places = channel.pixels, tuple(feed.pixel for feed in feeds)
        if (pixels, places) not in worst:
            drop = float(chain_drops(pixels, places, hop, amps).max())
            worst[pixels, places] = used.volts - used.feed_drop_volts - drop
        shares = tuple(share * amps for share in feed_shares(pixels, places))
        far = max(feed.wire_m * share for feed, share in zip(feeds, shares, strict=True))
        gauges = _thinnest(BY_AWG, far, used), _thinnest(BY_AREA, far, used)
        out.append(ChainPower(channel.number, pixels * amps, places, shares, worst[pixels, places], *gauges))
    return tuple(out)


def feeds_of(plan: BallPlan, used: PowerParameters) -> list[tuple[Feed, ...]]:
    """The feeds of each channel: as built, or the fewest that keep every pixel's voltage."""
    if plan.wiring is not None:
        return [channel.feeds for channel in plan.wiring.channels]
    hop, amps = _hop_ohm(plan, used, used.chain_wire), pixel_amps(used)
    places: dict[int, tuple[int, ...]] = {}
    out = []
    for channel in plan.channels:
        if channel.pixels not in places:
            places[channel.pixels] = feed_pixels(channel.pixels, _allowed(used), hop, amps)
        spots = [on_channel(plan, channel.number, pixel) for pixel in places[channel.pixels]]
        out.append(tuple(map(Feed, places[channel.pixels], leads_m(plan, spots))))
    return out


def _hop_ohm(plan: BallPlan, used: PowerParameters, name: str) -> float:
    """Resistance from a pixel to the next, there and back [Ω]."""
    return 2 * wire(name).warm(used.wire_celsius) * (used.hop_m or plan.pitch_m)


def _allowed(used: PowerParameters) -> float:
    return used.volts - used.feed_drop_volts - used.least_volts


def feed_shares(pixels: int, feeds: tuple[int, ...]) -> list[float]:
    """How many pixels' worth of current each feed carries; between two feeds it is half each."""
    ends = [(left + right) / 2 for left, right in zip(feeds, feeds[1:], strict=False)]
    cuts = [0.5, *ends, pixels + 0.5]
    return [after - before for before, after in zip(cuts, cuts[1:], strict=False)]


def _thinnest(names: tuple[str, ...], amp_metres: float, used: PowerParameters) -> str:
    """The thinnest wire, there and back, that loses no more than a feed may; "" when none is thick enough."""
    for name in names:
        if 2 * wire(name).warm(used.wire_celsius) * amp_metres <= used.feed_drop_volts:
            return name
    return ""


def _supplies(plan: BallPlan, chains: tuple[ChainPower, ...], used: PowerParameters) -> tuple[Supply, ...]:
    """Supplies as built, or the fewest that carry the feeds in order within their rating, evenly loaded."""
    feeds = [
        (chain.channel, feed, amps * used.volts)
        for chain in chains
        for feed, amps in zip(chain.feeds, chain.feed_amps, strict=True)
    ]
    groups = plan.wiring.supplies if plan.wiring is not None else _groups([watts for *_, watts in feeds], used)
    out, at = [], 0
    for number, count in enumerate(groups, start=1):
        carried, at = feeds[at : at + count], at + count
        out.append(Supply(number, sum(feed[2] for feed in carried), tuple(feed[:2] for feed in carried)))
    return tuple(out)


def _groups(watts: list[float], used: PowerParameters) -> list[int]:
    """How many feeds each supply carries."""
    milliwatts = [max(1, round(load * 1000)) for load in watts]
    limit = int(used.supply_watts * used.load_share * 1000)
    out, at = [], 0
    for load in partition(milliwatts, max(limit, *milliwatts)):
        first = at
        while load > 0:
            load -= milliwatts[at]
            at += 1
        out.append(at - first)
    return out


def _wire_choice(plan: BallPlan, used: PowerParameters, name: str) -> WireChoice:
    hop, amps = _hop_ohm(plan, used, name), pixel_amps(used)
    feeds, worst = 0, used.volts
    for pixels, often in _by_length(plan):
        places = feed_pixels(pixels, _allowed(used), hop, amps)
        feeds += often * len(places)
        worst = min(worst, used.volts - used.feed_drop_volts - float(chain_drops(pixels, places, hop, amps).max()))
    return WireChoice(name, feeds, worst)


def _by_length(plan: BallPlan) -> list[tuple[int, int]]:
    lengths = [channel.pixels for channel in plan.channels]
    return [(pixels, lengths.count(pixels)) for pixels in sorted(set(lengths))]


def _cautions(power: Power) -> Iterator[str]:
    used, peak = power.used, power.level("peak")
    if peak.mains_a > power.breaker_continuous_a:
        what = f"At its peak the ball draws {peak.mains_a:.1f} A at {used.mains_volts:g} V, more than the"
        what = f"{what} {power.breaker_continuous_a:g} A that a {used.breaker_amps:g} A breaker carries continuously"
        yield f"{what}: use {power.circuits} circuits or less brightness. A licensed electrician decides."
    limit = used.supply_watts * used.load_share
    over = [supply.supply for supply in power.supplies if supply.watts > limit * (1 + 1e-6)]
    if over:
        yield f"Supply {over[0]} carries a feed above {limit:g} W, its continuous rating: take larger supplies."
    if any(not chain.feed_awg for chain in power.chains):
        what = f"No listed wire keeps the drop to an injection within {used.feed_drop_volts:g} V"
        yield f"{what}: put supplies nearer, or allow more drop."
