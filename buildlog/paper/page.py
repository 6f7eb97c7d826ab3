"""A page in millimetres from its upper left corner, and what every print shares: size, ruler, printer's hint."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

from reportlab.lib import units
from reportlab.pdfgen.canvas import Canvas

from buildlog.paper import text as letters

mm: float = units.mm  # in points
RULER_MM = 50.0
INK, SOFT = (0, 0, 0), (0.35, 0.35, 0.35)


@dataclass(frozen=True, slots=True)
class Size:
    """A sheet of paper [mm]."""

    name: str
    width: float
    height: float


A4 = Size("A4", 210.0, 297.0)
LETTER = Size("Letter", 215.9, 279.4)
SIZES = {"A4": A4, "Letter": LETTER}


class Paper:
    """A print in the making. All lengths are in mm, y counts downwards; text sizes are in points.

    Same calls, same bytes: no time and no random id gets into the file. The printer is asked not to scale.
    """

    def __init__(self, size: Size, title: str) -> None:
        self.size = size
        self._out = BytesIO()
        self.canvas = Canvas(
            self._out, pagesize=(size.width * mm, size.height * mm), invariant=1, pageCompression=1, lang="en"
        )
        self.canvas.setTitle(letters.clean(title))
        self.canvas.setViewerPreference("PrintScaling", "None")

    def text(
        self, x: float, y: float, text: object, size: float = 9, *, bold: bool = False, align: str = "left",
        room: float | None = None, colour: tuple[float, float, float] = INK,
    ) -> float:  # fmt: skip
        """One line with its baseline at y; shrunk, then cut, to ``room`` [mm]. Returns its width [mm]."""
        shown, size = letters.fitted(text, room * mm, size, bold) if room else (letters.clean(text), size)
        wide = letters.width(shown, size, bold)
        left = x * mm - {"left": 0, "centre": wide / 2, "right": wide}[align]
        self.canvas.setFillColorRGB(*colour)
        for name, run in letters.runs(shown, bold):
            self.canvas.setFont(name, size)
            self.canvas.drawString(left, self._up(y), run)
            left += self.canvas.stringWidth(run, name, size)
        return wide / mm

    def line(self, x: float, y: float, to_x: float, to_y: float, width: float = 0.2) -> None:
        self.canvas.setLineWidth(width * mm)
        self.canvas.setStrokeColorRGB(*INK)
        self.canvas.line(x * mm, self._up(y), to_x * mm, self._up(to_y))

    def box(self, x: float, y: float, width: float, height: float, *, filled: bool = False, line: float = 0.2) -> None:
        """A rectangle whose upper left corner is at x, y."""
        self.canvas.setLineWidth(line * mm)
        self.canvas.setFillColorRGB(*INK)
        self.canvas.setStrokeColorRGB(*INK)
        self.canvas.rect(
            x * mm, self._up(y + height), width * mm, height * mm, stroke=0 if filled else 1, fill=1 if filled else 0
        )

    def ruler(self, x: float, y: float) -> None:
        """A line of exactly 50 mm from edge to edge with a mark each 10, to lay a rule against."""
        thick = 0.3
        self.box(x, y - thick / 2, RULER_MM, thick, filled=True)
        for tenth in range(6):
            # The outer marks end where the line ends, or they would add half their thickness on either side.
            middle = min(max(x + tenth * 10, x + thick / 2), x + RULER_MM - thick / 2)
            high = 2.5 if tenth in (0, 5) else 1.5
            self.box(middle - thick / 2, y - high, thick, high, filled=True)

    def turn(self) -> None:
        """Go on to the next page."""
        self.canvas.showPage()

    def bytes(self) -> bytes:
        self.canvas.save()
        return self._out.getvalue()

    def _up(self, y: float) -> float:
        """From mm below the upper edge to points above the lower one."""
        return (self.size.height - y) * mm
