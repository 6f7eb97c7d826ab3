"""A drawing as plain shapes, before it is SVG on a screen or ink on paper.

x runs to the right, y downwards, in units of about a pixel. ``kind`` says what a shape stands for; the stylesheet (on
paper: the printer of the page) says how that looks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from buildlog.drawings.svg import Markup, element

Point = tuple[float, float]
FONT = 13.0
LETTER = 0.63 * FONT  # mean width in the wider of the fonts that may be there


@dataclass(frozen=True, slots=True)
class Area:
    points: tuple[Point, ...]
    kind: str


@dataclass(frozen=True, slots=True)
class DrawnLine:
    points: tuple[Point, ...]
    kind: str


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    kind: str
    radius: float = 4.0


@dataclass(frozen=True, slots=True)
class Words:
    x: float
    y: float  # of the line that letters stand on
    text: str
    kind: str = "label"
    anchor: Literal["start", "middle", "end"] = "start"

    @property
    def span(self) -> tuple[float, float]:
        """From where to where the text reaches, about."""
        width = text_width(self.text)
        begin = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        return begin, begin + width


Shape = Area | DrawnLine | Dot | Words


@dataclass(frozen=True)
class Picture:
    """Shapes on a sheet; ``title`` and ``says`` tell those who cannot see it what it shows."""

    name: str
    width: float
    height: float
    title: str
    says: str
    shapes: tuple[Shape, ...]


def text_width(text: str) -> float:
    return LETTER * len(text)


def bar(left: float, top: float, right: float, bottom: float, kind: str) -> Area:
    """A rectangle."""
    return Area(((left, top), (right, top), (right, bottom), (left, bottom)), kind)


def as_svg(picture: Picture, only: str = "") -> Markup:
    """The picture as one SVG element; ``only`` is a class that says on which screens it is shown."""
    name = f"{picture.name}-{only}" if only else picture.name
    return element(
        "svg",
        element("title", picture.title, id=f"{name}-title"),
        element("desc", picture.says, id=f"{name}-says"),
        *(_drawn(shape) for shape in picture.shapes),
        class_=f"chart {only}".strip(),
        viewBox=f"0 0 {picture.width:.0f} {picture.height:.0f}",
        role="img",
        aria_labelledby=f"{name}-title",
        aria_describedby=f"{name}-says",
    )


def _drawn(shape: Shape) -> Markup:
    if isinstance(shape, Words):
        anchor = None if shape.anchor == "start" else shape.anchor
        place = {"x": _short(shape.x), "y": _short(shape.y), "text_anchor": anchor}
        return element("text", shape.text, class_=f"c-{shape.kind}", **place)
    if isinstance(shape, Dot):
        return element(
            "circle", class_=f"c-{shape.kind}", cx=_short(shape.x), cy=_short(shape.y), r=_short(shape.radius)
        )
    return element("path", class_=f"c-{shape.kind}", d=_path(shape.points) + ("z" if isinstance(shape, Area) else ""))


def _path(points: tuple[Point, ...]) -> str:
    return "M" + "L".join(f"{_short(x)} {_short(y)}" for x, y in points)


def _short(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
