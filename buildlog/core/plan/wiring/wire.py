"""Copper wire: its resistance by AWG or by square millimetres, and what a chain of pixels loses along it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

Floats = npt.NDArray[np.float64]

# Annealed copper of 100 % conductivity (IACS, IEC 60028): 1/58 Ω·mm²/m at 20 °C; +0.393 % a kelvin (NBS Handbook 100).
RESISTIVITY = 1 / 58
TEMPERATURE_FACTOR = 0.00393

# IEC 60228, class 5 (flexible, plain copper): largest resistance at 20 °C in Ω/km, by nominal mm².
FLEXIBLE = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95}
# From thin to thick, as shops have them.
BY_AWG = tuple(f"AWG {size}" for size in (24, 22, 20, 18, 16, 14, 12, 10, 8, 6))
BY_AREA = tuple(f"{area:g} mm2" for area in FLEXIBLE)

_AWG = re.compile(r"(?:awg\s*(\d{1,2})|(\d{1,2})\s*awg)")
_AREA = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:mm2|mm²|qmm)?")


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire by name and its resistance at 20 °C [Ω/m], one conductor."""

    name: str
    ohm_m: float

    def warm(self, celsius: float) -> float:
        """Resistance at a temperature [Ω/m].

        >>> round(wire("AWG 12").warm(75) / wire("AWG 12").ohm_m, 5)
        1.21615
        """
        return self.ohm_m * (1 + TEMPERATURE_FACTOR * (celsius - 20))


def awg_diameter_mm(size: int) -> float:
    """Diameter of a solid AWG wire [mm]: 0.005 in × 92^((36 - n)/39), ASTM B258.

    >>> round(awg_diameter_mm(18), 4)
    1.0237
    """
    return float(0.127 * 92 ** ((36 - size) / 39))


def wire(name: str, field: str = "chain_wire") -> Wire:
    """The wire of that name: ``AWG 18``, ``0.75 mm2``; a bare number is square millimetres.

    AWG is solid copper by its geometry; square millimetres are the largest resistance that IEC 60228 allows class 5,
    where it lists the size. Raises Refused for anything else.
    """
    text = name.strip().lower()
    if gauge := _AWG.fullmatch(text):
        size = int(gauge[1] or gauge[2])
        if size <= 36:
            area = math.pi / 4 * awg_diameter_mm(size) ** 2
            return Wire(f"AWG {size}", RESISTIVITY / area)
    elif section := _AREA.fullmatch(text):
        area = float(section[1].replace(",", "."))
        if 0.05 <= area <= 300:
            return Wire(f"{area:g} mm²", FLEXIBLE.get(area, RESISTIVITY / area * 1000) / 1000)
    raise Refused(Problem(_("“{name}” is not a wire: write it like AWG 18 or 0.75 mm2."), field, name=name))


def chain_drops(pixels: int, feeds: tuple[int, ...], hop_ohm: float, amps: float) -> Floats:
    """Voltage below the feeds at each pixel [V], exactly: each hop carries the current of all pixels after it.

    ``feeds`` are the pixels (from 1, in order) that are held at the feed's voltage; every pixel draws ``amps``;
    ``hop_ohm`` is there and back, from a pixel to the next.

        feed          feed
         1---2---3---4---5      each hop: hop_ohm, each pixel: amps
    """
    drops = np.zeros(pixels)
    first, last = feeds[0], feeds[-1]
    drops[: first - 1] = _open_end(first - 1)[::-1]
    for left, right in zip(feeds, feeds[1:], strict=False):
        step = np.arange(1, right - left)
        drops[left : right - 1] = step * (right - left - step) / 2
    drops[last:] = _open_end(pixels - last)
    return drops * hop_ohm * amps


def _open_end(pixels: int) -> Floats:
    """Drop at each pixel beyond the last feed, in units of hop × current: n + (n-1) + … terms."""
    step = np.arange(1, pixels + 1)
    return np.asarray(step * (2 * pixels + 1 - step) / 2, dtype=np.float64)


def feed_pixels(pixels: int, most_drop: float, hop_ohm: float, amps: float) -> tuple[int, ...]:
    """The fewest feeds, the first one at pixel 1, that keep every pixel within ``most_drop`` volts; spread evenly.

    Between two feeds that are M hops apart the drop is largest in the middle, ⌊M²/4⌋/2 hops' worth; beyond the last
    feed t pixels lose t·(t + 1)/2.
    """
    unit = hop_ohm * amps
    worth = most_drop / unit if unit > 0 else math.inf
    if pixels * (pixels - 1) / 2 <= worth:
        return (1,)
    span, tail = _widest_span(worth), _longest_tail(worth)
    between = -(-max(0, pixels - 1 - tail) // span)
    return _spread(pixels, between, span, tail)


def _widest_span(worth: float) -> int:
    """The most hops between two feeds; one at least, however little may be lost."""
    hops = max(1, math.isqrt(max(0, int(8 * worth))) - 2)
    while (hops + 1) ** 2 // 4 / 2 <= worth:
        hops += 1
    return hops


def _longest_tail(worth: float) -> int:
    pixels = max(0, int((math.sqrt(1 + 8 * worth) - 1) / 2) - 1)
    while (pixels + 1) * (pixels + 2) / 2 <= worth:
        pixels += 1
    return pixels


def _spread(pixels: int, between: int, span: int, tail: int) -> tuple[int, ...]:
    """Feeds whose spans and tail all stay within their limits, each about as full as the others."""
    full = (pixels - 1) / (between * span + tail)
    reach = max(pixels - 1 - tail, min(round(full * span * between), pixels - 1))
    return tuple(1 + round(number * reach / between) for number in range(between + 1))
