"""What single numbers of a plan cannot show: things given twice, things missing, things that exclude each other."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.core.errors import Problem
from buildlog.core.plan.parameter_table import BallParameters
from buildlog.core.wording import _


def check_together(parameters: BallParameters) -> list[Problem]:
    """All of that; each sentence says what would make the plan possible."""
    return [*_given_twice(parameters), *_missing(parameters), *_ribs_needed(parameters), *_segment_order(parameters)]


def _given_twice(parameters: BallParameters) -> Iterator[Problem]:
    for pixels, angle, ring in (
        ("top_pixels", "top_deg", "the first ring"),
        ("bottom_pixels", "bottom_deg", "the last ring"),
    ):
        if getattr(parameters, pixels) is not None and getattr(parameters, angle) is not None:
            yield Problem(
                _("Both {pixels} and {angle} are given for {ring}: give one of them."),
                angle,
                pixels=pixels,
                angle=angle,
                ring=ring,
            )
    bottom = parameters.bottom_pixels is not None or parameters.bottom_deg is not None
    if parameters.ring_spacing_m is not None and parameters.rings_count is not None and bottom:
        yield Problem(
            _("Ring spacing, ring count and a last ring are given: two of them make the third. Leave one out."),
            "rings_count",
        )


def _missing(parameters: BallParameters) -> Iterator[Problem]:
    by_formula = parameters.measured is None
    heights = not by_formula and all(row.height_m is not None for row in parameters.measured or ())
    for value, option in ((parameters.diameter_m, "diameter"), (parameters.pitch_m, "pitch")):
        if value is None and by_formula:
            yield Problem(
                _("The {option} is missing: give it, such as {example}."),
                option,
                option=option,
                example=_EXAMPLE[option],
            )
        elif value is None and (not heights or parameters.ring_spacing_m or parameters.rings_count):
            yield Problem(
                _("The {option} is missing: give it, or give height_mm for every ring of the table alone."),
                option,
                option=option,
            )
    if by_formula and parameters.ring_spacing_m is None and parameters.rings_count is None:
        yield Problem(_("Give the ring spacing, such as 60mm, or the number of rings."), "ring_spacing")


_EXAMPLE = {"diameter": "2.6m", "pitch": "30mm"}


def _ribs_needed(parameters: BallParameters) -> Iterator[Problem]:
    ribs, bays = parameters.ribs, parameters.closing_bays
    for name in ("closing_bays", "seam_stagger"):
        if ribs is None and getattr(parameters, name):
            yield Problem(_("Bays lie between ribs: give the number of ribs too."), name)
    if bays is not None and parameters.closing_rings is None:
        yield Problem(_("A door is rings and bays: give the closing rings too."), "closing_rings")
    if ribs is not None and bays is not None and max(bays) > ribs:
        yield Problem(
            _("{ribs} ribs make bays 1 to {ribs}; bay {bays} is not there."), "closing_bays", ribs=ribs, bays=max(bays)
        )
    if parameters.seam_rib > (ribs or 1):
        yield Problem(
            _("Rib {seam_rib} is not there: give ribs 1 to {ribs}, or more ribs."),
            "seam_rib",
            seam_rib=parameters.seam_rib,
            ribs=ribs or 1,
        )


def _segment_order(parameters: BallParameters) -> Iterator[Problem]:
    shortest, longest = parameters.min_segment, parameters.max_segment
    if shortest > longest:
        yield Problem(
            _("The shortest segment ({shortest}) is longer than the longest ({longest}): swap them."),
            "min_segment",
            shortest=shortest,
            longest=longest,
        )
