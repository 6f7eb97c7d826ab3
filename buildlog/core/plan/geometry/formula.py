"""Rings by formula: equal arc steps from opening to opening, and whole pixels on each."""

from __future__ import annotations

import math

import numpy as np

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.geometry.layout import HAIR, MOST_PIXELS, Floats, Ints, Layout, needed
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.units import show_length
from buildlog.core.wording import Count, Sentence, _


def by_formula(parameters: PlanParameters) -> Layout:
    radius, pitch = needed(parameters.diameter_m) / 2, needed(parameters.pitch_m)
    polar, spacing = _polar_angles(parameters, radius, pitch)
    shift = np.zeros_like(polar)
    if parameters.snap_share:
        snapped = snap(polar, radius, pitch, parameters.snap_share * spacing)
        polar, shift = snapped, (snapped - polar) * radius
    pixels = np.floor(2 * math.pi * radius * np.sin(polar) / pitch + HAIR).astype(np.int64)
    _refuse_empty(polar, pixels, radius, pitch)
    return Layout(radius, pitch, spacing, polar, pixels, shift)


def _polar_angles(parameters: PlanParameters, radius: float, pitch: float) -> tuple[Floats, float]:
    """Polar angles [rad] and the ring spacing [m]."""
    top, bottom = _first_angle(parameters, radius, pitch), _last_angle(parameters, radius, pitch)
    if top is not None and bottom is not None and top > bottom:
        what = Sentence(
            _("The first ring ({top:.1f}° from the top) lies below the last ({bottom:.1f}°)"),
            top=math.degrees(top),
            bottom=math.degrees(bottom),
        )
        raise Refused(Problem(_("{what}: make the openings smaller or the ball larger."), "bottom_deg", what=what))
    spacing = parameters.ring_spacing_m or _spacing_of(needed(parameters.rings_count), top, bottom, radius)
    first = spacing / (2 * radius) if top is None else top
    count = parameters.rings_count or _count_of(spacing, first, bottom, radius)
    _refuse_too_many(parameters, radius, spacing, count)
    polar: Floats = np.asarray(first + np.arange(count) * (spacing / radius), dtype=np.float64)
    if polar[-1] >= math.pi:
        fit = math.floor((math.pi - first) * radius / spacing - 0.5) + 1
        raise Refused(
            Problem(
                _("{count} rings at {length} run past the bottom of the ball: at most {fit} fit."),
                "rings_count",
                count=count,
                length=show_length(spacing),
                fit=fit,
            )
        )
    return polar, spacing


def _first_angle(parameters: PlanParameters, radius: float, pitch: float) -> float | None:
    if parameters.top_deg is not None:
        return math.radians(parameters.top_deg)
    if parameters.top_pixels is not None:
        return _angle_of(parameters.top_pixels, radius, pitch, "top_pixels")
    return None


def _last_angle(parameters: PlanParameters, radius: float, pitch: float) -> float | None:
    """Up to 90° an opening at the bottom is counted from the bottom, above 90° from the top."""
    if parameters.bottom_deg is not None:
        return math.radians(180.0 - parameters.bottom_deg if parameters.bottom_deg <= 90.0 else parameters.bottom_deg)
    if parameters.bottom_pixels is not None:
        return math.pi - _angle_of(parameters.bottom_pixels, radius, pitch, "bottom_pixels")
    return None


def _angle_of(pixels: int, radius: float, pitch: float, field: str) -> float:
    """The angle from the pole [rad] at which a ring holds exactly so many pixels."""
    share = pixels * pitch / (2 * math.pi * radius)
    if share > 1.0:
        most = math.floor(2 * math.pi * radius / pitch)
        what = Sentence(
            _("The opening is wider than the ball: {pixels} pixels at {length} need"),
            pixels=pixels,
            length=show_length(pitch),
        )
        need = Sentence(
            _("{length}, the widest ring holds {most}. Give {most} or fewer, or a larger diameter."),
            length=show_length(pixels * pitch),
            most=most,
        )
        raise Refused(Problem(_("{what} {need}"), field, what=what, need=need))
    return math.asin(share)


def _spacing_of(count: int, top: float | None, bottom: float | None, radius: float) -> float:
    """The spacing that a ring count gives; next to an opening that is not given, half a spacing is left."""
    gaps = count - 1 + 0.5 * (top is None) + 0.5 * (bottom is None)
    arc = (math.pi if bottom is None else bottom) - (top or 0.0)
    if gaps == 0 or arc <= 0:
        what = Sentence(
            _("{rings} cannot lie between these openings"), rings=Count(count, _("{number} ring"), _("{number} rings"))
        )
        raise Refused(
            Problem(
                _("{what}: give 2 rings or more and openings that leave room between them."), "rings_count", what=what
            )
        )
    return arc * radius / gaps


def _count_of(spacing: float, first: float, bottom: float | None, radius: float) -> int:
    last = math.pi - spacing / (2 * radius) if bottom is None else bottom
    count = math.floor((last - first) * radius / spacing + HAIR) + 1
    if count < 1:
        what = Sentence(_("A ring spacing of {length} leaves no room for a ring"), length=show_length(spacing))
        raise Refused(
            Problem(
                _("{what}: at most {length} here, or smaller openings."),
                "ring_spacing",
                what=what,
                length=show_length(math.pi * radius),
            )
        )
    return count


def _refuse_too_many(parameters: PlanParameters, radius: float, spacing: float, count: int) -> None:
    most = count * 2 * math.pi * radius / needed(parameters.pitch_m)
    if most > 2 * MOST_PIXELS:
        what = Sentence(
            _("This ball would hold about {most:,.0f} pixels, more than the {most_pixels:,} planned for"),
            most=most * 2 / math.pi,
            most_pixels=MOST_PIXELS,
        )
        raise Refused(Problem(_("{what}: check the units of pitch and ring spacing."), "pitch", what=what))


def _refuse_empty(polar: Floats, pixels: Ints, radius: float, pitch: float) -> None:
    empty = np.flatnonzero(pixels < 1)
    if not empty.size:
        return
    number = int(empty[0]) + 1
    around = 2 * math.pi * radius * math.sin(float(polar[empty[0]]))
    what = Sentence(
        _("Ring {number} is {length} around, less than one pitch ({pitch})"),
        number=number,
        length=show_length(max(0.0, around)),
        pitch=show_length(pitch),
    )
    field = "top_deg" if polar[empty[0]] < math.pi / 2 else "bottom_deg"
    if 2 * math.pi * radius < pitch:
        raise Refused(
            Problem(
                _("{what}: the pitch must be at most {length} here."),
                "pitch",
                what=what,
                length=show_length(2 * math.pi * radius),
            )
        )
    least = math.degrees(math.asin(pitch / (2 * math.pi * radius)))
    raise Refused(
        Problem(
            _("{what}: keep {least:.2f}° or more away from the pole, or use a smaller pitch."),
            field,
            what=what,
            least=least,
        )
    )


def snap(polar: Floats, radius: float, pitch: float, most_m: float) -> Floats:
    """Polar angles [rad] moved along the surface, by at most ``most_m``, to hold a whole number of pitches.

    A ring that would have to move further stays. The nearer of the two whole counts is taken.
    """
    around = 2 * math.pi * radius * np.sin(polar) / pitch
    best = polar.copy()
    least = np.full_like(polar, most_m * (1 + HAIR))
    for whole in (np.floor(around), np.ceil(around)):
        share = whole * pitch / (2 * math.pi * radius)
        angle = np.arcsin(np.clip(share, 0.0, 1.0))
        angle = np.where(polar > math.pi / 2, math.pi - angle, angle)
        move = np.abs(angle - polar) * radius
        nearer = (move < least) & (share <= 1.0) & (whole >= 1)
        best, least = np.where(nearer, angle, best), np.where(nearer, move, least)
    return best
