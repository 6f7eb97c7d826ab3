"""The ball unrolled: every segment in its place, from nearly dark to lit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildlog.core.work.board import Window
from buildlog.core.work.map_cell import MapCell, by_ring, spans
from buildlog.core.work.stages import Stage
from buildlog.drawings.svg import Markup, element, join, number
from buildlog.drawings.unroll import Unrolled

# A row fills from below as a segment comes on, so that stages read without colour: share of the row's height.
RISE = (0.0, 0.34, 0.56, 0.78, 0.9)
LABELLED = 1500  # more segments than this and their words are left to the window
DOTTED = 60_000  # more pixels than this and single pixels cannot be told apart
MARGIN = 0.03
HALO = ((9.0, 0.035), (6.5, 0.045), (4.5, 0.055), (2.8, 0.07))  # width in rows, opacity: wide ones first


def unrolled_of(cells: Sequence[MapCell]) -> Unrolled:
    rows = by_ring(cells)
    return Unrolled(tuple(rows), tuple(sum(cell.pixels for cell in row) for row in rows.values()))


def ball(cells: Sequence[MapCell], ribs_deg: Sequence[float] = (), window: Window | None = None) -> Markup:
    """The whole ball as one SVG element. ``ribs_deg`` are the azimuths of its ribs. Raises ValueError without cells."""
    if not cells:
        raise ValueError("A ball without segments cannot be drawn: plan it first.")
    sheet = unrolled_of(cells)
    edge = round(MARGIN * sheet.width)
    layers = [
        _ambience(sheet, cells),
        element("g", join(_segments(sheet, cells)), class_="ball-rows"),
        element(
            "path",
            class_="ball-ribs",
            d="".join(map(sheet.meridian, ribs_deg)),
            stroke_width=sheet.row * 0.14,
        )
        if ribs_deg
        else Markup(""),
        _lamps(sheet, cells),
        *_marks(sheet, cells),
        _lens(sheet, window) if window else Markup(""),
    ]
    box = f"{-edge} {-edge} {sheet.width + 2 * edge} {sheet.height + 2 * edge}"
    return element(
        "svg",
        *layers,
        class_="ball",
        viewBox=box,
        role="group",
        aria_label=summary(cells),
        data_rows=",".join(map(str, sheet.pixels)),
        data_wide=sheet.width,
        data_tall=sheet.height,
        data_first=sheet.rings[0],
    )


def summary(cells: Sequence[MapCell]) -> str:
    """The whole ball in one sentence."""
    pixels = sum(cell.pixels for cell in cells)
    tested = sum(cell.done[Stage.TEST.number] for cell in cells)
    faults = sum(cell.faults for cell in cells)
    return f"The ball unrolled: {tested:,} of {pixels:,} pixels tested, {len(cells):,} segments, {faults} open faults"


def _ambience(sheet: Unrolled, cells: Sequence[MapCell]) -> Markup:
    """The barn around the ball: warmer the more is lit, warmest where it is lit."""
    tested = sum(cell.done[Stage.TEST.number] for cell in cells)
    if not tested:
        return Markup("")
    share = tested / sum(cell.pixels for cell in cells)
    middle = sum(cell.done[Stage.TEST.number] * sheet.y(cell.ring, 0.5) for cell in cells) / tested
    stops = (element("stop", offset="0", class_="glow-in"), element("stop", offset="1", class_="glow-out"))
    gradient = element("radialGradient", *stops, id="ball-glow")
    wide, tall = (0.45 + 0.5 * share) * sheet.width, (0.35 + 0.4 * share) * sheet.height
    room = element(
        "ellipse", cx=sheet.width // 2, cy=round(middle), rx=round(wide), ry=round(tall), fill="url(#ball-glow)",
        fill_opacity=round(0.18 + 0.3 * share, 2),
    )  # fmt: skip
    return join((element("defs", gradient), room))


def _segments(sheet: Unrolled, cells: Sequence[MapCell]) -> Iterator[Markup]:
    words = len(cells) <= LABELLED
    for cell in cells:
        whole = "".join(sheet.patch(cell.ring, *span, 0.06, 0.96) for span in spans(cell.from_deg, cell.to_deg))
        yield element(
            "path",
            class_="dim seg" if cell.dim else "seg",
            data_code=cell.code,
            role="img" if words else None,
            aria_label=cell.says if words else None,
            d=whole,
        )
        for level, begin, end in cell.stretches():
            yield element(
                "path",
                class_=f"s{level} dim" if cell.dim else f"s{level}",
                d=_fill(sheet, cell, level, begin, end),
            )


def _fill(sheet: Unrolled, cell: MapCell, level: int, begin: float, end: float) -> str:
    return "".join(sheet.patch(cell.ring, *span, 0.96 - RISE[level], 0.96) for span in cell.part(begin, end))


def _lamps(sheet: Unrolled, cells: Sequence[MapCell]) -> Markup:
    """What is tested shines: a halo in two steps, and each pixel as a point of light."""
    lit = [
        (cell, span)
        for cell in cells
        if cell.done[Stage.TEST.number] and not cell.dim
        for span in cell.part(0, cell.done[Stage.TEST.number] / cell.pixels)
    ]
    if not lit:
        return Markup("")
    lines = "".join(sheet.line(cell.ring, *span, 0.51) for cell, span in lit)
    halo = [
        element("path", class_="halo", d=lines, stroke_width=sheet.row * wide, stroke_opacity=strong)
        for wide, strong in HALO
    ]
    if sum(sheet.pixels) > DOTTED:
        return join(halo)
    dot = min(sheet.pitch * 0.62, sheet.row * 0.5)
    points = element(
        "path", class_="lamps", d=lines, stroke_width=dot, stroke_dasharray=f"0 {number(sheet.pitch)}",
        stroke_dashoffset=-sheet.pitch / 2,
    )  # fmt: skip
    return join((*halo, points))


def _marks(sheet: Unrolled, cells: Sequence[MapCell]) -> Iterator[Markup]:
    """Closing segments, those that can be worked on now, faults: each by its shape."""
    closing = "".join(_outline(sheet, cells))
    if closing:
        yield element("path", class_="closing-out", d=closing, stroke_width=6.0 * sheet.scale)
        yield element("path", class_="closing-in", d=closing, stroke_width=2.4 * sheet.scale)
    ready = "".join(_edge(sheet, cell) for cell in cells if cell.ready and not cell.dim)
    if ready:
        yield element("path", class_="ready", d=ready, stroke_width=3.2 * sheet.scale)
    yield from (_triangle(sheet, cell, "note-mark") for cell in cells if cell.notes and not cell.faults)
    yield from (_triangle(sheet, cell, "fault") for cell in cells if cell.faults)


def _edge(sheet: Unrolled, cell: MapCell) -> str:
    begin = cell.from_deg % 360.0
    points = [(sheet.x(cell.ring, begin, share), sheet.y(cell.ring, share)) for share in (0.06, 0.96)]
    return "M" + "L".join(f"{x:.0f} {y:.1f}" for x, y in points)


def _triangle(sheet: Unrolled, cell: MapCell, name: str) -> Markup:
    size = 17.0 * sheet.scale
    begin, end = next(spans(cell.from_deg, cell.to_deg))
    x, y = sheet.x(cell.ring, (begin + end) / 2), sheet.y(cell.ring, 0.5)
    return element("path", class_=name, d=f"M{x:.0f} {y - size:.0f}l{size:.0f} {1.7 * size:.0f}h{-2 * size:.0f}z")


def _outline(sheet: Unrolled, cells: Sequence[MapCell]) -> Iterator[str]:
    """Edges between closing and other segments: joined ranges get one outline, not one a segment."""
    shut = {
        ring: _merged([span for cell in row if cell.closing for span in spans(cell.from_deg, cell.to_deg)])
        for ring, row in by_ring(cells).items()
    }
    for ring, ranges in shut.items():
        for begin, end in ranges:
            yield from _sides(sheet, ring, begin, end)
        yield from _level(sheet, ring, 0.0, ranges, shut.get(ring - 1, []))
        yield from _level(sheet, ring, 1.0, ranges, shut.get(ring + 1, []))


def _sides(sheet: Unrolled, ring: int, begin: float, end: float) -> Iterator[str]:
    for azimuth in (begin, end):
        yield (
            f"M{sheet.x(ring, azimuth, 0.0):.0f} {sheet.y(ring):.0f}"
            f"L{sheet.x(ring, azimuth, 1.0):.0f} {sheet.y(ring, 1.0):.0f}"
        )


def _level(
    sheet: Unrolled,
    ring: int,
    share: float,
    ranges: list[tuple[float, float]],
    beyond: list[tuple[float, float]],
) -> Iterator[str]:
    for begin, end in ranges:
        for left, right in _without(begin, end, beyond):
            yield sheet.line(ring, left, right, share)


def _merged(ranges: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Ranges that touch, as one.

    >>> _merged([(90, 180), (0, 90)])
    [(0, 180)]
    """
    out: list[tuple[float, float]] = []
    for begin, end in sorted(ranges):
        if out and begin <= out[-1][1] + 0.5:
            out[-1] = (out[-1][0], max(end, out[-1][1]))
        else:
            out.append((begin, end))
    return out


def _without(begin: float, end: float, taken: list[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """What is left of begin…end outside the ranges taken; slivers under half a degree are left out."""
    for left, right in taken:
        if left - begin > 0.5:
            yield begin, min(left, end)
        begin = max(begin, right)
        if begin >= end:
            return
    if end - begin > 0.5:
        yield begin, end


def _lens(sheet: Unrolled, window: Window) -> Markup:
    shape = sheet.block(window.first, window.last, window.from_deg, window.to_deg)
    wide = 3.0 * sheet.scale
    return join(
        (
            element("path", class_="lens-shade", d=shape, stroke_width=wide * 3),
            element("path", class_="lens", d=shape, stroke_width=wide),
        )
    )
