"""The parts of a plan: rings, segments, runs, channels, totals."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PlannedRing:
    """All pixels at one height. Ring 1 is the top one; the polar angle is 0 at the top."""

    number: int
    polar_deg: float
    height_m: float  # above the lowest point of the full ball
    radius_m: float
    circumference_m: float
    pixels: int
    seam_gap_m: float  # below zero: the pixels need more than the ring has
    edge_strain: float  # share by which a straight strap's edges must shorten and stretch
    closing: bool = False
    seam_deg: float = 0.0  # azimuth of the seam
    shift_m: float = 0.0  # how far snapping moved the ring along the surface, downwards positive


@dataclass(frozen=True, slots=True)
class PlannedSegment:
    """One continuous piece of strap on one ring; pixels count from the ring's seam in rising azimuth, from 1.

    ``from_deg`` and ``to_deg`` are measured along the ring from its seam.
    """

    ring: int
    piece: int
    first_pixel: int
    pixels: int
    from_deg: float
    to_deg: float
    closing: bool = False

    @property
    def code(self) -> str:
        return f"R{self.ring}-{self.piece}"


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """The part of a segment that one channel drives: pixels ``first`` to ``last`` of the segment, both included.

    ``reversed`` says that data enters at ``last``.
    """

    segment: str
    first: int
    last: int
    reversed: bool = False

    @property
    def pixels(self) -> int:
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class PlannedChannel:
    """One controller output and the chain it drives, in the order in which data passes."""

    number: int
    runs: tuple[PlannedRun, ...]

    @property
    def pixels(self) -> int:
        return sum(run.pixels for run in self.runs)

    @property
    def placed(self) -> Iterator[tuple[int, PlannedRun]]:
        """Each run with the pixel of the channel, from 1, at which it begins."""
        begins = 1
        for run in self.runs:
            yield begins, run
            begins += run.pixels


@dataclass(frozen=True, slots=True)
class Feed:
    """Where power goes into a chain: at its pixel ``pixel``, by so much wire from the box [m]."""

    pixel: int
    wire_m: float


@dataclass(frozen=True, slots=True)
class ChannelWiring:
    """The data lead from the box to where a channel begins [m], and its feeds in the order of the chain."""

    lead_m: float
    feeds: tuple[Feed, ...]


@dataclass(frozen=True, slots=True)
class Wiring:
    """Leads and feeds as they are built, channel by channel; ``supplies`` says how many feeds each supply carries,
    one supply after the other along the channels.
    """

    channels: tuple[ChannelWiring, ...]
    supplies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Totals:
    rings: int
    pixels: int
    segments: int
    joints: int  # between pieces; the seams, one a ring, come on top
    channels: int
    strap_m: float  # pixels × pitch, without patches
    zone_area_pixels: float  # zone area / (pitch × ring spacing): what the count should be close to
