"""Naming many segments in a few letters.

R12-3            one segment
R12              a ring
R12 to R20       rings 12 to 20 (…, .. and R12-R20 do as well)
R12-1 to R14-2   all between two segments: their rings, and the stretch of the ring that both span
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.map_cell import MapCell, by_ring

_NAME = r"[Rr]?(\d{1,9})(?:-(\d{1,9}))?"  # more digits have no ball
_ONE = re.compile(_NAME)
_RANGE = re.compile(rf"{_NAME}(?:…|\.\.\.?){_NAME}")
_TO = re.compile(r"\s*(?:…|\.\.\.?|–|-(?=\s*[Rr])|\bto\b)\s*", re.IGNORECASE)


def choose(text: str, cells: Sequence[MapCell]) -> tuple[str, ...]:
    """Codes of the segments that ``text`` names, in the order of the ball, each once.

    Raises Refused, naming every part that is no segment, ring or range of this ball.
    """
    rings = by_ring(cells)  # in the order of the ball
    chosen: set[str] = set()
    problems = []
    for word in re.split(r"[,;\s]+", _TO.sub("…", text.strip())):
        if word:
            codes = set(_named(word, rings))
            problems += [] if codes else [_unknown(word, rings)]
            chosen |= codes
    if problems:
        raise Refused(problems)
    return tuple(cell.code for cell in cells if cell.code in chosen)


def _named(word: str, rings: dict[int, list[MapCell]]) -> Iterator[str]:
    if match := _RANGE.fullmatch(word):
        yield from _between(*match.groups(), rings=rings)
    elif match := _ONE.fullmatch(word):
        ring, piece = match.groups()
        yield from (cell.code for cell in rings.get(int(ring), []) if piece is None or cell.piece == int(piece))


def _between(
    ring_a: str, piece_a: str | None, ring_b: str, piece_b: str | None, *, rings: dict[int, list[MapCell]]
) -> Iterator[str]:
    first, last = sorted((int(ring_a), int(ring_b)))
    row = [cell for number, row in rings.items() if first <= number <= last for cell in row]
    if piece_a is None or piece_b is None:
        yield from (cell.code for cell in row)
        return
    corners = [
        cell for cell in row if (cell.ring, cell.piece) in {(int(ring_a), int(piece_a)), (int(ring_b), int(piece_b))}
    ]
    if len(corners) == len({(ring_a, piece_a), (ring_b, piece_b)}):
        yield from (cell.code for cell in within(corners, row))


def within(corners: Iterable[MapCell], cells: Iterable[MapCell]) -> Iterator[MapCell]:
    """Cells whose middle lies in the stretch of azimuth that the corners span."""
    ends = [(cell.from_deg, cell.to_deg) for cell in corners]
    left, right = min(begin for begin, _ in ends), max(end for _, end in ends)
    return (cell for cell in cells if left <= (cell.from_deg + cell.to_deg) / 2 <= right)


def _unknown(word: str, rings: dict[int, list[MapCell]]) -> Problem:
    return Problem(
        _(
            "{word} isn’t a segment of this ball. Enter a segment (R12-3), a ring (R12) or a range (R12 to R20); "
            "rings go from {first} to {last}."
        ),
        "segments",
        word=_shortened(word).replace("…", " to "),
        first=min(rings, default=0),
        last=max(rings, default=0),
    )


def _shortened(word: str) -> str:
    return word if len(word) <= 40 else f"{word[:20]}⋯"
