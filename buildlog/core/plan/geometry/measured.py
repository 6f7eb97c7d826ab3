"""Rings as they were measured on the frame: a whole table, or single rings of the formula put right."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.check_rings import say_rings
from buildlog.core.plan.geometry.fit import Fit, fit_ball
from buildlog.core.plan.geometry.layout import MOST_PIXELS, Floats, Ints, Layout, needed
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.warning import PlanWarning
from buildlog.core.units import show_length
from buildlog.core.wording import Sentence, _


def by_table(parameters: PlanParameters, rows: list[MeasuredRing]) -> Layout:
    pixels = np.array([row.pixels for row in rows], dtype=np.int64)
    if int(pixels.sum()) > MOST_PIXELS:
        raise Refused(
            Problem(
                _("The table has {pixels:,} pixels; at most {most_pixels:,} are planned for."),
                "rings",
                pixels=pixels.sum(),
                most_pixels=MOST_PIXELS,
            )
        )
    if rows[0].height_m is None:
        remarks: tuple[PlanWarning, ...] = ()
        radius, pitch = needed(parameters.diameter_m) / 2, needed(parameters.pitch_m)
        polar = _even_steps(pixels, radius, pitch)
    else:
        radius, pitch, remarks = _fitted(parameters, rows)
        polar = np.array([_polar_of_height(row, radius) for row in rows])
        _refuse_unordered(rows)
    spacing = radius * float(polar[-1] - polar[0]) / (len(rows) - 1) if len(rows) > 1 else pitch
    return Layout(radius, pitch, spacing, polar, pixels, np.zeros_like(polar), remarks)


def _fitted(parameters: PlanParameters, rows: list[MeasuredRing]) -> tuple[float, float, tuple[PlanWarning, ...]]:
    """Radius, pitch, and what is to be said about them: what is given wins, what is missing is fitted."""
    if parameters.diameter_m and parameters.pitch_m and len(rows) < 3:
        return parameters.diameter_m / 2, parameters.pitch_m, ()
    fit = fit_ball(rows, parameters.diameter_m, parameters.pitch_m)
    return fit.diameter_m / 2, fit.pitch_m, tuple(_about_fit(parameters, fit))


def _about_fit(parameters: PlanParameters, fit: Fit) -> Iterator[PlanWarning]:
    fitted = {}
    if parameters.diameter_m is None:
        fitted["diameter_m"] = fit.diameter_m
    if parameters.pitch_m is None:
        fitted["pitch_m"] = fit.pitch_m
    if fitted:
        code = "fitted" if len(fitted) == 2 else "fitted pitch" if parameters.diameter_m else "fitted diameter"
        yield PlanWarning(code, fitted | {"worst_m": fit.worst_m})
    elif fit.worst_m > fit.pitch_m:
        yield PlanWarning("misfit", {"worst_m": fit.worst_m})


def _polar_of_height(row: MeasuredRing, radius: float) -> float:
    height = row.height_m or 0.0
    if not 0.0 < height < 2 * radius:
        what = Sentence(
            _("Ring {ring} at height {length} is not on a ball of {diameter}"),
            ring=row.ring,
            length=show_length(height),
            diameter=show_length(2 * radius),
        )
        raise Refused(Problem(_("{what}: heights count from the lowest point of the full ball."), "rings", what=what))
    return math.acos(height / radius - 1.0)


def _refuse_unordered(rows: list[MeasuredRing]) -> None:
    heights = np.array([row.height_m for row in rows], dtype=float)
    rising = np.flatnonzero(np.diff(heights) >= 0)
    if rising.size:
        row = rows[int(rising[0]) + 1]
        raise Refused(
            Problem(
                _("Ring {ring} is not lower than ring {above}: ring 1 is the top one, heights fall from it."),
                "rings",
                ring=row.ring,
                above=row.ring - 1,
            )
        )


def _even_steps(pixels: Ints, radius: float, pitch: float) -> Floats:
    """Without heights: the ends where the first and last ring hold their pixels, equal arcs between."""
    ends = np.arcsin(np.clip((pixels[[0, -1]] + 0.5) * pitch / (2 * math.pi * radius), 0.0, 1.0))
    widest = pixels.max()
    first = ends[0] if pixels[0] < widest or pixels.size == 1 else math.pi / 2
    last = math.pi - ends[1] if pixels[-1] < widest else math.pi / 2
    if pixels.size > 1 and last <= first:
        raise Refused(
            Problem(
                _("First and last ring lie at the same height: every ring has as many pixels. Give height_mm."), "rings"
            )
        )
    return np.linspace(first, last, pixels.size)


def corrected(layout: Layout, rows: tuple[MeasuredRing, ...]) -> Layout:
    """Single rings of the formula as they were measured: pixels, and height where it is given."""
    polar, pixels = layout.polar.copy(), layout.pixels.copy()
    beyond = [row.ring for row in rows if row.ring > polar.size]
    if beyond:
        what = Sentence(
            _("{rings} of the table: the formula gives {count} rings. Leave those rows out,"),
            rings=say_rings(beyond),
            count=polar.size,
        )
        raise Refused(
            Problem(_("{what} or leave out ring spacing and ring count to use the table alone."), "rings", what=what)
        )
    for row in rows:
        pixels[row.ring - 1] = row.pixels
        if row.height_m is not None:
            polar[row.ring - 1] = _polar_of_height(row, layout.radius_m)
    crossed = np.flatnonzero(np.diff(polar) <= 0)
    if crossed.size:
        what = Sentence(
            _("With its measured height ring {ring} is not below ring {above}"),
            ring=int(crossed[0]) + 2,
            above=int(crossed[0]) + 1,
        )
        raise Refused(Problem(_("{what}: check height_mm."), "rings", what=what))
    shift = layout.shift_m + (polar - layout.polar) * layout.radius_m
    return Layout(layout.radius_m, layout.pitch_m, layout.spacing_m, polar, pixels, shift)
