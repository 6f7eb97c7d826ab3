"""How long the lead wires are: from the box to where each channel begins, along the frame."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.place import Place, on_channel

Floats = npt.NDArray[np.float64]


def ways_m(plan: BallPlan, polar_deg: Floats, azimuth_deg: Floats) -> Floats:
    """The shortest way along the frame from the box to each place [m], without slack.

    A wire runs round at the box's height to a rib, along that rib to the ring, and along the ring; every rib is
    tried. Without ribs it may go up or down at the box's azimuth or at the place's.

        box ──┐            R·sin θ_box·Δφ   round at the box's height
              │            R·Δθ             along the rib
              └───── ×     R·sin θ·Δφ       along the ring
    """
    parameters, radius = plan.parameters, plan.diameter_m / 2
    theta, box = np.radians(polar_deg), math.radians(parameters.wiring.box_deg)
    phi, ribs = np.radians(azimuth_deg), parameters.ribs or 1
    start = math.tau * ((parameters.wiring.box_rib - 1) % ribs) / ribs
    up = radius * np.abs(theta - box)
    turns = [np.full_like(phi, math.tau * rib / ribs) for rib in range(ribs)]
    if parameters.ribs is None:
        turns.append(phi)
    round_ways = [
        radius * math.sin(box) * _turn(turn, start) + radius * np.sin(theta) * _turn(phi, turn) for turn in turns
    ]
    return np.asarray(up + np.min(round_ways, axis=0), dtype=np.float64)


def _turn(a: Floats, b: Floats | float) -> Floats:
    """The angle between two azimuths, the short way round [rad]."""
    gap = np.abs(a - b) % math.tau
    return np.asarray(np.minimum(gap, math.tau - gap), dtype=np.float64)


def leads_m(plan: BallPlan, places: Sequence[Place]) -> list[float]:
    """Wire from the box to each place [m], with the way out of the box and the slack."""
    if not places:
        return []
    polar = np.array([place.polar_deg for place in places])
    azimuth = np.array([place.azimuth_deg for place in places])
    wiring = plan.parameters.wiring
    lengths = ways_m(plan, polar, azimuth) + wiring.box_outside_m + wiring.lead_slack_m
    return [float(length) for length in lengths]


def data_leads_m(plan: BallPlan) -> list[float]:
    """The data lead of each channel [m]: as built, or as it would be."""
    if plan.wiring is not None:
        return [channel.lead_m for channel in plan.wiring.channels]
    return leads_m(plan, starts(plan))


def starts(plan: BallPlan) -> list[Place]:
    """Where each channel begins."""
    return [on_channel(plan, channel.number, 1) for channel in plan.channels]
