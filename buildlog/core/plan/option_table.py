"""Every option of a plan: its name, what it sets, what it means, and how its text is read and written."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.limits import BALL, Limit
from buildlog.core.plan.settings import LIMITS, Offcut
from buildlog.core.units import length, write_length


def _plain(value: Any, system: str) -> str:
    return "" if value is None else str(value)


@dataclass(frozen=True)
class Option:
    """One thing a lead can say. ``group`` is the part of the form it belongs to."""

    name: str
    parameter: str  # a field of PlanParameters, or of one of its groups: "power.volts"
    help: str
    read: Callable[[str, str], Any]
    choices: tuple[str, ...] = ()
    switch: bool = False
    group: str = "ball"
    write: Callable[[Any, str], str] = _plain


def _length(text: str, name: str) -> float:
    return length(text, name, least=0.0)


def _whole(text: str, name: str) -> int:
    if not re.fullmatch(r"[+-]?\d{1,12}", text):
        raise Refused(Problem(f"“{text}” is not a whole number: write digits only, like 100.", name))
    return int(text)


def _decimal(text: str, name: str) -> float:
    try:
        return float(text.rstrip("°").strip().replace(",", "."))
    except ValueError:
        raise Refused(Problem(f"“{text}” is not a number: write it like 12.5.", name)) from None


def _share(text: str, name: str) -> float:
    return _decimal(text[:-1], name) / 100 if text.endswith("%") else _decimal(text, name)


def _word(text: str, name: str) -> str:
    return text


def _switch(text: str, name: str) -> bool:
    return text.lower() not in ("", "0", "no", "false", "off")


def _pair(text: str, name: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,9})(?:\s*[-–]\s*(\d{1,9}))?", text)
    if match is None:
        raise Refused(Problem(f"“{text}” is not a range: write it like 88-90.", name))
    first, last = match.groups()
    return int(first), int(last or first)


def _people(text: str, name: str) -> tuple[tuple[str, int], ...]:
    pairs = []
    for part in filter(None, re.split(r"[\s,;]+", text)):
        stage, _, number = part.partition("=")
        pairs.append((stage.lower(), _whole(number, name)))
    return tuple(dict(pairs).items())


def _hand_pieces(text: str, name: str) -> tuple[tuple[int, tuple[int, ...]], ...]:
    rings = []
    for part in filter(None, (part.strip() for part in re.split(r"[;\n]+", text))):
        ring, colon, pieces = part.partition(":")
        if not colon:
            raise Refused(Problem(f"“{part}” is not a ring and its pieces: write it like 12: 50 48 48.", name))
        counts = tuple(_whole(piece, name) for piece in re.split(r"[\s,+]+", pieces.strip()) if piece)
        rings.append((_whole(ring.strip(), name), counts))
    return tuple(dict(rings).items())


def _offcuts(text: str, name: str) -> tuple[Offcut, ...]:
    out = []
    for part in filter(None, (part.strip() for part in re.split(r"[;\n]+", text))):
        match = re.fullmatch(r"(\d{1,6})\s*[x×*]\s*(.+)", part)
        often, size = (_whole(match[1], name), match[2]) if match else (1, part)
        out.append(Offcut(length(size, name), often))
    return tuple(out)


def _write_length(value: Any, system: str) -> str:
    return "" if value is None else write_length(value, system)


def _write_share(value: Any, system: str) -> str:
    return "" if value is None else f"{value!r}"


def _write_switch(value: Any, system: str) -> str:
    return "yes" if value else ""


def _write_pair(value: Any, system: str) -> str:
    return "" if value is None else f"{value[0]}-{value[1]}"


def _write_people(value: Any, system: str) -> str:
    return " ".join(f"{stage}={number}" for stage, number in value)


def _write_hand(value: Any, system: str) -> str:
    return "; ".join(f"{ring}: {' '.join(map(str, pieces))}" for ring, pieces in value)


def _write_offcuts(value: Any, system: str) -> str:
    return "; ".join(f"{one.quantity} x {write_length(one.length_m, system)}" for one in value)


_SHARES = {
    *("snap_share", "edge_strain_limit", "spare_share", "brightness", "typical_share", "supply_efficiency"),
    *("load_share", "service_level", "failure_share"),
}

_HELP = {
    "ball": {
        "diameter": "diameter of the ball at the pixels",
        "pitch": "distance between neighbouring pixels along a strap",
        "ring_spacing": "distance between neighbouring rings along the surface",
        "rings_count": "number of rings, instead of the spacing",
        "top_pixels": "pixels of the first ring: where the top opening ends",
        "top_deg": "polar angle of the first ring, instead of its pixels",
        "bottom_pixels": "pixels of the last ring: where the bottom opening begins",
        "bottom_deg": "angle of the last ring, from the bottom up to 90, from the top above",
        "snap_share": "share of the spacing a ring may move to hold whole pitches",
        "ribs": "ribs of the frame; joints go to the nearest one",
    },
    "strap": {
        "max_segment": "most pixels in one segment",
        "min_segment": "fewest pixels in one segment",
        "seam_rib": "rib on which the rings close",
        "seam_stagger": "bays by which each ring's seam moves on",
        "strap_width": "width of the strap",
        "edge_strain_limit": "share by which the strap's edges may stretch",
        "roll": "length of a roll of strap; gives a cut list",
        "rolls": "rolls in stock",
        "kerf_holes": "holes lost at each cut",
        "patch_pixels": "holes of the patch that bridges a joint, 0 = none",
    },
    "channels": {
        "capacity": "most pixels on one channel",
        "outputs": "outputs of the controllers",
        "spare_share": "share of the outputs kept spare",
        "box_deg": "polar angle of the controller's box, 180 = at the bottom",
        "box_rib": "rib at which the box is",
        "box_outside": "wire from the box to the frame",
        "lead_slack": "slack of each lead wire",
        "bit_ns": "time of a bit in nanoseconds: 1250 = 800 kbit/s",
        "bits": "bits a pixel takes: 24, or 32 with a white of its own",
        "reset_us": "reset time in microseconds",
    },
    "power": {
        "volts": "voltage of the pixels",
        "idle_ma": "current of a dark pixel in milliamperes",
        "full_ma": "current of a pixel at full white, above idle, in milliamperes",
        "brightness": "brightness at most, as limited in the controller",
        "typical_share": "share of that while content runs",
        "least_volts": "least voltage at the worst pixel",
        "feed_drop_volts": "voltage that may be lost on the way to an injection",
        "hop": "wire from pixel to pixel, if longer than the pitch",
        "wire_celsius": "temperature of the wire",
        "supply_watts": "rating of a power supply",
        "supply_efficiency": "efficiency of a power supply",
        "load_share": "share of a rating that may be used continuously",
        "mains_volts": "mains voltage",
        "breaker_amps": "rating of the breaker",
        "box_rise_celsius": "temperature rise allowed in the box",
        "reading_pixels": "pixels connected when the readings were taken",
        "reading_idle": "reading at the mains at rest, in watts",
        "reading_typical": "reading at the mains while content runs, in watts",
        "reading_peak": "reading at the mains at full brightness, in watts",
    },
    "mass": {
        "pixel_g": "mass of a pixel with its share of wire, in grams",
        "strap_g_m": "mass of a metre of strap, in grams",
        "lead_g_m": "mass of a metre of lead wire, in grams",
        "frame_kg": "mass of the frame, in kilograms",
        "frame_height": "height of the frame's centre of mass above the ball's lowest point",
    },
    "supplies": {
        "service_level": "chance that the spares are enough",
        "failure_share": "share of pixels expected to fail, before any was tested",
        "failure_weight": "how many pixels' worth of testing that expectation counts for",
        "price_pixel": "price of a pixel",
        "price_roll": "price of a roll of strap",
        "price_supply": "price of a power supply",
        "price_output": "price of a controller output",
        "price_lead_m": "price of a metre of lead wire",
    },
}


def _by_name() -> dict[str, tuple[str, Limit]]:
    """Option → the parameter it sets and its limit."""
    out = {limit.option: (name, limit) for name, limit in BALL.items()}
    for group, limits in LIMITS.items():
        out |= {limit.option: (f"{group}.{name}", limit) for name, limit in limits.items()}
    return out


def _number(name: str, group: str, known: Mapping[str, tuple[str, Limit]]) -> Option:
    parameter, limit = known[name]
    if limit.unit == "m":
        return Option(name, parameter, _HELP[group][name], _length, group=group, write=_write_length)
    if name in _SHARES:
        return Option(name, parameter, _HELP[group][name], _share, group=group, write=_write_share)
    return Option(name, parameter, _HELP[group][name], _whole if limit.whole else _decimal, group=group)


def _options() -> tuple[Option, ...]:
    known = _by_name()
    numbers = {group: [_number(name, group, known) for name in names] for group, names in _HELP.items()}
    others = {group: [option for option in _OTHERS if option.group == group] for group in numbers}
    return tuple(option for group in numbers for option in (*numbers[group], *others[group]))


_OTHERS = (
    Option(
        "closing_rings",
        "closing_rings",
        "rings that close the way in, like 88-90",
        _pair,
        group="strap",
        write=_write_pair,
    ),
    Option(
        "closing_bays",
        "closing_bays",
        "with closing rings: bays of the door, like 7-9",
        _pair,
        group="strap",
        write=_write_pair,
    ),
    Option(
        "hand_pieces",
        "hand_pieces",
        "rings cut by hand, like 12: 50 48 48; 13: 60 60",
        _hand_pieces,
        group="strap",
        write=_write_hand,
    ),
    Option(
        "offcuts",
        "stock.offcuts",
        "offcuts in stock, like 3 x 1.2m; 900mm",
        _offcuts,
        group="strap",
        write=_write_offcuts,
    ),
    Option(
        "channel_cut",
        "channel_cut",
        "where a channel may end",
        _word,
        choices=("anywhere", "joints", "rings"),
        group="channels",
    ),
    Option(
        "start_from",
        "start_from",
        "end of the ball where the data begin",
        _word,
        choices=("top", "bottom"),
        group="channels",
    ),
    Option(
        "alternate",
        "alternate",
        "turning direction changes from ring to ring",
        _switch,
        switch=True,
        group="channels",
        write=_write_switch,
    ),
    Option(
        "people",
        "people",
        "how many fit at a stage at once, like wire=2",
        _people,
        group="channels",
        write=_write_people,
    ),
    Option("chain_wire", "power.chain_wire", "wire from pixel to pixel, like AWG 18 or 0.75 mm2", _word, group="power"),
)

OPTIONS = _options()
