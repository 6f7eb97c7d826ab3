"""What the pixels draw, where power has to be fed in, and what supplies, breaker and box must stand.

A pixel draws its idle current and a share of its full current. All figures are for planning: local codes and
licensed people decide about anything on the mains.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.settings import PowerParameters
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


def power_of(plan: BallPlan) -> Power:
    """Power of a plan: levels, channels with their injections, supplies, breaker, heat."""
    given = plan.parameters.power
    used = corrected(given, plan.totals.pixels)
    chains = _chains(plan, used)
    levels = tuple(_level(name, given, used, plan.totals.pixels) for name in LEVELS)
    supplies = _supplies(chains, used)
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


def _level(name: str, given: PowerParameters, used: PowerParameters, pixels: int) -> Level:
    mains = _mains_w(used, name, pixels)
    reading: float | None = getattr(given, f"reading_{name}_w")
    scaled = None if reading is None else reading * pixels / (given.reading_pixels or pixels)
    predicted = _mains_w(given, name, pixels)
    return Level(name, mains * used.supply_efficiency, mains, mains / used.mains_volts, predicted, scaled)


def corrected(given: PowerParameters, pixels: int) -> PowerParameters:
    """The parameters as readings at the mains correct them: idle current, full current, typical share, in this order.

    A reading of fewer pixels counts for those only.
    """
    connected, used = given.reading_pixels or pixels, given
    if given.reading_idle_w is not None:
        used = replace(used, idle_ma=_milliamps(given.reading_idle_w, used, connected))
    if given.reading_peak_w is not None and given.brightness > 0:
        over = _milliamps(given.reading_peak_w, used, connected) - used.idle_ma
        used = replace(used, full_ma=max(0.0, over / given.brightness))
    span = used.brightness * used.full_ma
    if given.reading_typical_w is not None and span > 0:
        over = _milliamps(given.reading_typical_w, used, connected) - used.idle_ma
        used = replace(used, typical_share=min(1.0, max(0.0, over / span)))
    return used


def _milliamps(reading_w: float, used: PowerParameters, pixels: int) -> float:
    return reading_w * used.supply_efficiency / used.volts / pixels * 1000


def _chains(plan: BallPlan, used: PowerParameters) -> tuple[ChainPower, ...]:
    hop = _hop_ohm(plan, used, used.chain_wire)
    made: dict[int, tuple[tuple[int, ...], float]] = {}
    amps = pixel_amps(used)
    out = []
    for channel in plan.channels:
        pixels = channel.pixels
        if pixels not in made:
            feeds = feed_pixels(pixels, _allowed(used), hop, amps)
            worst = used.volts - used.feed_drop_volts - float(chain_drops(pixels, feeds, hop, amps).max())
            made[pixels] = feeds, worst
        feeds, worst = made[pixels]
        shares = tuple(share * amps for share in feed_shares(pixels, feeds))
        far = _worst_feed(plan, channel.number, feeds, shares)
        gauges = _thinnest(BY_AWG, far, used), _thinnest(BY_AREA, far, used)
        out.append(ChainPower(channel.number, pixels * amps, feeds, shares, worst, *gauges))
    return tuple(out)


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


def _worst_feed(plan: BallPlan, channel: int, feeds: tuple[int, ...], amps: tuple[float, ...]) -> float:
    """The largest current × length of the channel's feeds [A·m]."""
    lengths = leads_m(plan, [on_channel(plan, channel, feed) for feed in feeds])
    return max(length * amp for length, amp in zip(lengths, amps, strict=True))


def _thinnest(names: tuple[str, ...], amp_metres: float, used: PowerParameters) -> str:
    """The thinnest wire, there and back, that loses no more than a feed may; "" when none is thick enough."""
    for name in names:
        if 2 * wire(name).warm(used.wire_celsius) * amp_metres <= used.feed_drop_volts:
            return name
    return ""


def _supplies(chains: tuple[ChainPower, ...], used: PowerParameters) -> tuple[Supply, ...]:
    """The fewest supplies that carry the feeds in order within their continuous rating, evenly loaded."""
    feeds = [
        (chain.channel, feed, amps * used.volts)
        for chain in chains
        for feed, amps in zip(chain.feeds, chain.feed_amps, strict=True)
    ]
    milliwatts = [max(1, round(watts * 1000)) for _, _, watts in feeds]
    limit = int(used.supply_watts * used.load_share * 1000)
    out, at = [], 0
    for number, load in enumerate(partition(milliwatts, max(limit, *milliwatts)), start=1):
        first = at
        while load > 0:
            load -= milliwatts[at]
            at += 1
        watts = sum(feed[2] for feed in feeds[first:at])
        out.append(Supply(number, watts, tuple(feed[:2] for feed in feeds[first:at])))
    return tuple(out)


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
