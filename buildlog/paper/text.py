"""Text on paper: composed, safe, and with a font that has the letters, run by run.

The fonts that reportlab brings lack Polish, Greek and Cyrillic letters, let alone others. DejaVu has European, Arabic
and Hebrew scripts, Droid Sans Fallback Chinese, Japanese and Korean; both are in `fonts/`.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import arabic_reshaper
from bidi.algorithm import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONTS = Path(__file__).parent / "fonts"
PLAIN, BOLD, WIDE = "buildlog", "buildlog-bold", "buildlog-wide"
FILES = {PLAIN: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf", WIDE: "DroidSansFallback.ttf"}
MISSING = "\u25a1"  # a box for what no font has: better seen than left out
RIGHT_TO_LEFT = ("R", "AL", "AN")


@cache
def font(name: str) -> TTFont:
    """The font, loaded once in a process."""
    made = TTFont(name, str(FONTS / FILES[name]))
    pdfmetrics.registerFont(made)
    return made


def clean(text: object) -> str:
    """Composed (NFC), on one line, without control characters.

    >>> clean("Zoe\\u0308  A\\nB\\x00")
    'Zo\\xeb A B'
    """
    composed = unicodedata.normalize("NFC", str(text))
    kept = "".join(" " if letter.isspace() else letter for letter in composed if _prints(letter))
    return " ".join(kept.split())


def _prints(letter: str) -> bool:
    return letter.isspace() or unicodedata.category(letter) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def in_print_order(text: str) -> str:
    """Arabic letters joined, right-to-left runs turned, as a line is drawn from left to right."""
    if not any(unicodedata.bidirectional(letter) in RIGHT_TO_LEFT for letter in text):
        return text
    return str(get_display(arabic_reshaper.reshape(text)))


def runs(text: object, bold: bool = False) -> list[tuple[str, str]]:
    """(font, letters) in the order of drawing; neighbouring letters of one font together."""
    parts: list[tuple[str, str]] = []
    for name, letter in _lettered(in_print_order(clean(text)), BOLD if bold else PLAIN):
        if parts and parts[-1][0] == name:
            parts[-1] = (name, parts[-1][1] + letter)
        else:
            parts.append((name, letter))
    return parts


def _lettered(text: str, first: str) -> Iterator[tuple[str, str]]:
    for letter in text:
        name = next((name for name in (first, PLAIN, WIDE) if ord(letter) in font(name).face.charToGlyph), None)
        yield (name, letter) if name else (first, MISSING)


def width(text: object, size: float, bold: bool = False) -> float:
    """How wide the text is [pt] at this size [pt]."""
    widths: list[float] = [pdfmetrics.stringWidth(letters, name, size) for name, letters in runs(text, bold)]
    return sum(widths)


def fitted(text: object, room: float, size: float, bold: bool = False, least: float = 5) -> tuple[str, float]:
    """Text and size so that it fits the room [pt]: smaller down to ``least``, then cut with an ellipsis."""
    cleaned = clean(text)
    natural = width(cleaned, size, bold)
    if natural <= room:
        return cleaned, size
    size = max(least, size * room / natural)
    return _cut(cleaned, lambda shown: width(shown, size, bold) <= room), size


def _cut(text: str, fits: Callable[[str], bool]) -> str:
    if fits(text):
        return text
    kept = text
    while kept and not fits(f"{kept.rstrip()}…"):
        kept = kept[:-1]
    return f"{kept.rstrip()}…"
