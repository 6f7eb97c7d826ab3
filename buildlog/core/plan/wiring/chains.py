"""Channels as a table, how often each can be refreshed, and the three ways of cutting side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from buildlog.core.errors import Refused
from buildlog.core.plan.parameter_table import CHANNEL_CUTS, WiringParameters
from buildlog.core.plan.parts import PlannedChannel
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.channels import cut_channels
from buildlog.core.plan.wiring.leads import data_leads_m, starts
from buildlog.core.plan.wiring.place import Place, on_channel


def frame_ns(pixels: int, wiring: WiringParameters) -> int:
    """Time to send one picture to so many pixels [ns], the reset included: n · bits · t_bit + t_reset.

    >>> frame_ns(800, WiringParameters(reset_us=50))
    24050000
    """
    return pixels * wiring.bits * wiring.bit_ns + wiring.reset_us * 1000


def refresh_hz(pixels: int, wiring: WiringParameters) -> float:
    """Pictures a second at most."""
    return 1e9 / frame_ns(pixels, wiring)


@dataclass(frozen=True, slots=True)
class ChannelRow:
    """One channel as the person at the box needs it."""

    channel: int
    label: str
    pixels: int
    segments: tuple[str, ...]
    first: Place
    last: Place
    refresh_hz: float
    lead_m: float


def channel_table(plan: BallPlan) -> tuple[ChannelRow, ...]:
    """All channels with labels, first and last pixel, refresh rate and lead wire."""
    first, width = starts(plan), len(str(len(plan.channels)))
    rows = zip(plan.channels, first, data_leads_m(plan), strict=True)
    return tuple(
        ChannelRow(
            channel.number,
            f"C{channel.number:0{width}d}",
            channel.pixels,
            tuple(run.segment for run in channel.runs),
            start,
            on_channel(plan, channel.number, channel.pixels),
            refresh_hz(channel.pixels, plan.parameters.wiring),
            lead,
        )
        for channel, start, lead in rows
    )


@dataclass(frozen=True, slots=True)
class CutWay:
    """One way to cut the data order into channels; ``refused`` says why it cannot be, and then the rest is 0."""

    cut: str
    channels: int = 0
    inside_cuts: int = 0  # segments that two channels share
    largest: int = 0
    smallest: int = 0
    refresh_hz: float = 0.0
    refused: str = ""


def compare_ways(plan: BallPlan) -> tuple[CutWay, ...]:
    """The plan's channels cut anywhere, at joints only and at rings only."""
    return tuple(_way(plan, cut) for cut in CHANNEL_CUTS)


def _way(plan: BallPlan, cut: str) -> CutWay:
    parameters = replace(plan.parameters, channel_cut=cut)
    try:  # its own way is as it is; the others are proposals
        channels = plan.channels if parameters == plan.parameters else cut_channels(plan.segments, parameters)
    except Refused as refused:
        return CutWay(cut, refused=" ".join(problem.what for problem in refused.problems))
    loads = [channel.pixels for channel in channels]
    inside = sum(_shared(channels))
    return CutWay(cut, len(channels), inside, max(loads), min(loads), refresh_hz(max(loads), parameters.wiring))


def _shared(channels: tuple[PlannedChannel, ...]) -> Iterator[bool]:
    for before, after in zip(channels, channels[1:], strict=False):
        yield before.runs[-1].segment == after.runs[0].segment
