"""The house in figures, read from the imports: lines of the core, and rooms, arrows and floors of core/forecast.

Exit code 1 when an import inside the core runs against the order of its rooms. `make check` runs it; the test of the
boundaries asks the same.
"""

from __future__ import annotations

import ast
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CORE = ROOT / "buildlog" / "core"
# Each may import those before it, never those behind it.
CORE_ORDER = ("plan", "work", "forecast")
STAGES = "buildlog.core.work.stages"  # the one table that the plan reads too: people, limits and cautions by stage
FORECAST_ORDER = ("input", "calendar", "learn", "simulate", "result", "questions")
Arrow = tuple[str, str]


def imported(source: str) -> Iterator[str]:
    """Dotted names of everything imported, inside functions and for types too."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def room_of(dotted: str, house: str) -> str:
    """`buildlog.core.forecast.learn.rates` in `buildlog.core.forecast` → `learn`; "" from elsewhere."""
    return dotted.removeprefix(f"{house}.").split(".")[0] if dotted.startswith(f"{house}.") else ""


def dotted_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


@cache
def imports_of(path: Path) -> tuple[str, ...]:
    return tuple(imported(path.read_text()))


def arrows(folder: Path) -> Counter[Arrow]:
    """(room that imports, room that is imported): how often, between different rooms of a folder."""
    house = dotted_of(folder)
    pairs = (
        (room_of(dotted_of(path), house), room_of(name, house))
        for path in sorted(folder.rglob("*.py"))
        for name in imports_of(path)
        if not name.startswith(f"{STAGES}.")
    )
    return Counter((who, whom) for who, whom in pairs if who and whom and who != whom)


def backward(folder: Path, order: tuple[str, ...]) -> list[Arrow]:
    """Arrows from a room to one that stands behind it; a room without a place in it
    may import none that has one."""
    place = {room: number for number, room in enumerate(order)}
    return [(who, whom) for who, whom in arrows(folder) if whom in place and place.get(who, -1) < place[whom]]


def floors(folder: Path) -> dict[str, int]:
    """The length of the longest way down from each room; rooms that import each other in a circle have none."""
    below: dict[str, set[str]] = {}
    for who, whom in arrows(folder):
        below.setdefault(who, set()).add(whom)
        below.setdefault(whom, set())
    level: dict[str, int] = {}
    while ready := [room for room in below if room not in level and below[room] <= level.keys()]:
        level |= {room: 1 + max((level[other] for other in below[room]), default=0) for room in ready}
    return level


def lines(folder: Path) -> int:
    return sum(len(path.read_text().splitlines()) for path in folder.rglob("*.py"))


def main() -> int:
    forecast = CORE / "forecast"
    files = [path for path in forecast.rglob("*.py") if path.read_text().strip()]
    between, level = arrows(forecast), floors(forecast)
    print(f"core: {lines(CORE):,} lines in {len(list(CORE.rglob('*.py')))} files")
    print(f"core/forecast: {len(files)} files, {len(between)} arrows between rooms, {max(level.values())} floors")
    back = backward(CORE, CORE_ORDER) + backward(forecast, FORECAST_ORDER)
    for who, whom in back:
        print(f"{who} imports {whom}, which stands behind it", file=sys.stderr)
    return 1 if back else 0


if __name__ == "__main__":
    sys.exit(main())
