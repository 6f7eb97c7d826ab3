"""The plan on the unrolled ball: which channel drives what, where straps are joined, what closes the way in.

Neighbouring channels differ in lightness, joints are gaps, closing segments are outlined, ribs are meridians.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from buildlog.core.plan.plan import BallPlan
from buildlog.core.work.map_cell import spans
from buildlog.drawings.svg import Markup, element
from buildlog.drawings.unroll import Unrolled

TONES = 3  # so that a channel differs from the one before, the one after, and mostly from the ring above
MOST_JOINTS = 3_000  # beyond, joints are narrower than a dot on the screen
MARGIN = 0.02

Stretch = tuple[int, float, float]  # ring, azimuths from and to


def plan_map(plan: BallPlan) -> Markup:
    """The whole plan as one SVG element; its size grows with rings and channels, not with pixels."""
    sheet = Unrolled(tuple(ring.number for ring in plan.rings), tuple(ring.pixels for ring in plan.rings))
    edge = round(MARGIN * sheet.width)
    layers = [*_channels(sheet, plan), *_joints(sheet, plan), *_ribs(sheet, plan), *_closing(sheet, plan)]
    return element(
        "svg", *layers, class_="ball plan-map", role="img", aria_label=_says(plan),
        viewBox=f"{-edge} {-edge} {sheet.width + 2 * edge} {sheet.height + 2 * edge}",
    )  # fmt: skip


def _says(plan: BallPlan) -> str:
    totals = plan.totals
    return (
        f"The ball unrolled: {totals.pixels:,} pixels on {totals.rings} rings, "
        f"{totals.segments:,} segments, {totals.channels:,} channels"
    )


def _channels(sheet: Unrolled, plan: BallPlan) -> Iterator[Markup]:
    tones: dict[int, list[str]] = defaultdict(list)
    for number, stretches in _driven(plan):
        tones[number % TONES] += _patches(sheet, stretches)
    for tone, patches in sorted(tones.items()):
        yield element("path", class_=f"chan-{tone}", d="".join(patches))


def _driven(plan: BallPlan) -> Iterator[tuple[int, list[Stretch]]]:
    """Each channel with what it drives; runs that touch on one ring are one stretch."""
    for channel in plan.channels:
        rings: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for run in channel.runs:
            segment = plan.by_code[run.segment]
            rings[segment.ring].append((segment.first_pixel + run.first - 2, segment.first_pixel + run.last - 1))
        stretches = [(ring, *span) for ring, pixels in rings.items() for span in _joined(pixels)]
        yield channel.number, [_azimuths(plan, *stretch) for stretch in stretches]


def _joined(pixels: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Ranges of pixels that touch, as one.

    >>> _joined([(50, 80), (0, 50), (90, 95)])
    [(0, 80), (90, 95)]
    """
    out: list[tuple[int, int]] = []
    for begin, end in sorted(pixels):
        if out and begin == out[-1][1]:
            out[-1] = (out[-1][0], end)
        else:
            out.append((begin, end))
    return out


def _azimuths(plan: BallPlan, number: int, begin: int, end: int) -> Stretch:
    """Pixels begin…end of a ring, counted from 0, as azimuths; the seam's gap belongs to the last one."""
    ring = plan.rings[number - 1]
    return number, ring.seam_deg + 360.0 * begin / ring.pixels, ring.seam_deg + 360.0 * end / ring.pixels


def _patches(sheet: Unrolled, stretches: Iterable[Stretch]) -> Iterator[str]:
    for ring, begin, end in stretches:
        for span in spans(begin, end):
            yield sheet.patch(ring, *span, 0.08, 0.94)


def _joints(sheet: Unrolled, plan: BallPlan) -> Iterator[Markup]:
    if plan.totals.segments > MOST_JOINTS:
        return
    lines = "".join(_cross(sheet, plan, piece.ring, piece.first_pixel - 1) for piece in plan.segments)
    yield element("path", class_="plan-joints", d=lines, stroke_width=2.5 * sheet.scale)


def _cross(sheet: Unrolled, plan: BallPlan, ring: int, pixels_before: int) -> str:
    """A line across the row where a piece begins."""
    azimuth = _azimuths(plan, ring, pixels_before, pixels_before)[1] % 360.0
    points = [f"{sheet.x(ring, azimuth, share):.0f} {sheet.y(ring, share):.0f}" for share in (0.0, 1.0)]
    return f"M{points[0]}L{points[1]}"


def _ribs(sheet: Unrolled, plan: BallPlan) -> Iterator[Markup]:
    ribs = plan.parameters.ribs
    if ribs:
        lines = "".join(sheet.meridian(rib * 360.0 / ribs) for rib in range(ribs + 1))
        yield element("path", class_="plan-ribs", d=lines, stroke_width=2.0 * sheet.scale)


def _closing(sheet: Unrolled, plan: BallPlan) -> Iterator[Markup]:
    """A doubled outline around everything that closes the way in, as on the other maps."""
    rings: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for piece in plan.segments:
        if piece.closing:
            rings[piece.ring].append((piece.first_pixel - 1, piece.first_pixel + piece.pixels - 1))
    shut = [(ring, *span) for ring, pixels in rings.items() for arc in _joined(pixels)
            for span in spans(*_azimuths(plan, ring, *arc)[1:])]  # fmt: skip
    if shut:
        outline = "".join(_around(sheet, block) for block in _blocks(shut))
        yield element("path", class_="plan-closing", d=outline, stroke_width=9.0 * sheet.scale)
        yield element("path", class_="plan-closing-in", d=outline, stroke_width=3.0 * sheet.scale)


def _blocks(stretches: Iterable[Stretch]) -> list[list[Stretch]]:
    """Stretches of neighbouring rings that overlap, from the top, as blocks."""
    blocks: list[list[Stretch]] = []
    for stretch in sorted(stretches):
        above = next((block for block in blocks if _touch(block[-1], stretch)), None)
        if above is None:
            blocks.append([stretch])
        else:
            above.append(stretch)
    return blocks


def _touch(above: Stretch, below: Stretch) -> bool:
    return above[0] == below[0] - 1 and above[1] < below[2] and below[1] < above[2]


def _around(sheet: Unrolled, block: Iterable[Stretch]) -> str:
    """The outline of a block: down its left side, up its right one."""
    left, right = [], []
    for ring, begin, end in block:
        for share in (0.0, 1.0):
            left.append(f"{sheet.x(ring, begin, share):.0f} {sheet.y(ring, share):.0f}")
            right.append(f"{sheet.x(ring, end, share):.0f} {sheet.y(ring, share):.0f}")
    return f"M{'L'.join([*left, *reversed(right)])}z"
