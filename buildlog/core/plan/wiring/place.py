"""Where a pixel is: from channel and pixel, or from segment and pixel, to the place on the ball.

Axes: the origin is the ball's centre, x points to azimuth 0, y to azimuth 90°, z up. A pixel sits in the middle of
its pitch, so pixel K of a ring is (K - ½) pitches from the seam.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parts import PlannedRing, PlannedRun, PlannedSegment
from buildlog.core.plan.plan import BallPlan
from buildlog.core.wording import _

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Place:
    """One pixel. All counts from 1; ``chain`` is its position on the channel, ``pixel`` on the segment."""

    ring: int
    segment: str
    pixel: int
    ring_pixel: int
    channel: int
    chain: int
    azimuth_deg: float
    polar_deg: float
    height_m: float
    x_m: float
    y_m: float
    z_m: float


@dataclass(frozen=True, slots=True)
class PixelTable:
    """Every pixel, ring by ring from the seam, as columns; ``segment`` indexes ``BallPlan.segments``."""

    ring: Ints
    ring_pixel: Ints
    segment: Ints
    pixel: Ints
    channel: Ints
    chain: Ints
    azimuth_deg: Floats
    polar_deg: Floats
    height_m: Floats
    x_m: Floats
    y_m: Floats
    z_m: Floats


def on_channel(plan: BallPlan, channel: int, pixel: int) -> Place:
    """Pixel ``pixel`` of channel ``channel``, both from 1. Raises Refused when it is not there."""
    if not 1 <= channel <= len(plan.channels):
        raise Refused(no_channel(channel, len(plan.channels)))
    chain = plan.channels[channel - 1]
    if not 1 <= pixel <= chain.pixels:
        raise Refused(not_on_channel(channel, chain.pixels, pixel))
    before = 0
    for run in chain.runs:
        if pixel <= before + run.pixels:
            return _place(plan, run, pixel - before, channel, pixel)
        before += run.pixels
    raise AssertionError("the runs of a channel add up to its pixels")


def on_segment(plan: BallPlan, code: str, pixel: int) -> Place:
    """Pixel ``pixel`` of the segment, from 1 at its lower azimuth. Raises Refused when it is not there."""
    code = code.strip().upper()
    segment = _segment(plan, code)
    if not 1 <= pixel <= segment.pixels:
        raise Refused(not_on_segment(code, segment.pixels, pixel))
    for channel in plan.channels:
        before = 0
        for run in channel.runs:
            if run.segment == code and run.first <= pixel <= run.last:
                step = run.last - pixel if run.reversed else pixel - run.first
                return _place(plan, run, step + 1, channel.number, before + step + 1)
            before += run.pixels
    raise AssertionError("every pixel is on a run")


def _segment(plan: BallPlan, code: str) -> PlannedSegment:
    if code in plan.by_code:
        return plan.by_code[code]
    raise Refused(no_segment(code, plan.segments[-1].code))


def no_channel(channel: int, last: int) -> Problem:
    """Channels go from 1 to ``last``, and this one is not among them."""
    what = _("Channel {channel} is not there: channels go from 1 to {last}.")
    return Problem(what, "channel", channel=channel, last=last)


def not_on_channel(channel: int, pixels: int, pixel: int) -> Problem:
    """The channel drives fewer pixels."""
    what = _("Channel {channel} has pixels 1 to {pixels}, not {pixel}.")
    return Problem(what, "pixel", channel=channel, pixels=pixels, pixel=pixel)


def no_segment(code: str, last: str) -> Problem:
    """No segment has the code; ``last`` is that of the last one."""
    what = _("Segment {code} is not there: segments go from R1-1 to {last}.")
    return Problem(what, "segment", code=code, last=last)


def not_on_segment(code: str, pixels: int, pixel: int) -> Problem:
    """The segment has fewer pixels."""
    what = _("Segment {code} has pixels 1 to {pixels}, not {pixel}.")
    return Problem(what, "pixel", code=code, pixels=pixels, pixel=pixel)


def _place(plan: BallPlan, run: PlannedRun, step: int, channel: int, chain: int) -> Place:
    """The place of the ``step``-th pixel that data meets on the run."""
    segment = _segment(plan, run.segment)
    return place_of(plan.rings[segment.ring - 1], segment, run, (channel, chain, step), (plan.diameter_m, plan.pitch_m))


def place_of(
    ring: PlannedRing,
    segment: PlannedSegment,
    run: PlannedRun,
    chain: tuple[int, int, int],
    ball: tuple[float, float],
) -> Place:
    """One pixel of a run. ``chain`` is the channel, the pixel of the channel and of the run as data meets them;
    ``ball`` its diameter and the pitch [m].
    """
    (channel, at, step), (diameter_m, pitch_m) = chain, ball
    pixel = run.last - step + 1 if run.reversed else run.first + step - 1
    ring_pixel = segment.first_pixel + pixel - 1
    azimuth = azimuth_deg(ring, ring_pixel, pitch_m)
    turn, z = math.radians(azimuth), ring.height_m - diameter_m / 2
    x, y = ring.radius_m * math.cos(turn), ring.radius_m * math.sin(turn)
    spot = (azimuth, ring.polar_deg, ring.height_m, x, y, z)
    return Place(ring.number, segment.code, pixel, ring_pixel, channel, at, *spot)


def azimuth_deg(ring: PlannedRing, ring_pixel: int, pitch_m: float) -> float:
    """Azimuth of a ring's pixel [deg], 0 up to 360."""
    return (ring.seam_deg + (ring_pixel - 0.5) * pitch_m / ring.circumference_m * 360.0) % 360.0


def pixel_table(plan: BallPlan) -> PixelTable:
    """Every pixel of the plan, in columns."""
    counts = np.array([ring.pixels for ring in plan.rings])
    ring = np.repeat(np.arange(1, counts.size + 1), counts)
    ring_pixel = _count_up(counts)
    lengths = np.array([segment.pixels for segment in plan.segments])
    segment = np.repeat(np.arange(lengths.size), lengths)
    channel, chain = _chains(plan, np.cumsum(lengths) - lengths)
    azimuth, polar, height, radius = _angles(plan, ring - 1, ring_pixel)
    turn = np.radians(azimuth)
    spot = (radius * np.cos(turn), radius * np.sin(turn), height - plan.diameter_m / 2)
    return PixelTable(ring, ring_pixel, segment, _count_up(lengths), channel, chain, azimuth, polar, height, *spot)


def _count_up(counts: Ints) -> Ints:
    """1…n for each count n, one after the other."""
    starts = np.repeat(np.cumsum(counts) - counts, counts)
    return np.arange(1, int(counts.sum()) + 1) - starts


def _chains(plan: BallPlan, starts: Ints) -> tuple[Ints, Ints]:
    """Channel and position on it for every pixel; ``starts`` is where each segment's pixels begin."""
    begin = {segment.code: int(start) for segment, start in zip(plan.segments, starts, strict=True)}
    channel = np.zeros(plan.totals.pixels, dtype=np.int64)
    chain = np.zeros(plan.totals.pixels, dtype=np.int64)
    for planned in plan.channels:
        before = 0
        for run in planned.runs:
            span = slice(begin[run.segment] + run.first - 1, begin[run.segment] + run.last)
            steps = np.arange(before + 1, before + run.pixels + 1)
            channel[span], chain[span] = planned.number, steps[::-1] if run.reversed else steps
            before += run.pixels
    return channel, chain


def _angles(plan: BallPlan, ring: Ints, ring_pixel: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    polar = np.array([ring.polar_deg for ring in plan.rings])
    height = np.array([ring.height_m for ring in plan.rings])
    radius = np.array([ring.radius_m for ring in plan.rings])
    seam = np.array([ring.seam_deg for ring in plan.rings])
    step = np.array([plan.pitch_m / ring.circumference_m * 360.0 for ring in plan.rings])
    azimuth = (seam[ring] + (ring_pixel - 0.5) * step[ring]) % 360.0
    return azimuth, polar[ring], height[ring], radius[ring]
