"""`python -m tests.core_coverage`: how much of the core is run by tests/core alone; exit code 1 below 95 % of branches.

Compiled code is not seen by a coverage tool, so the small trials run a second time without the compiler, and both
counts are put together. Line and branch figures are printed by folder, then what was not run.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

from tests.mutants import SMALL_TRIALS, UNCOMPILED

LEAST = 95.0  # percent of branches
CORE = Path("buildlog", "core")
RUN = ("run", "--parallel-mode", "--branch", "--source", str(CORE), "-m", "pytest", "-q", "-p", "no:cacheprovider")
FIGURES = ("num_statements", "covered_lines", "num_branches", "covered_branches")


def _coverage(folder: str, *arguments: str) -> None:
    data = {"COVERAGE_FILE": str(Path(folder, "coverage"))}
    subprocess.run([sys.executable, "-m", "coverage", *arguments], check=True, env=os.environ | data)


def main() -> int:
    with tempfile.TemporaryDirectory(prefix="buildlog-coverage-") as folder:
        _coverage(folder, *RUN, "tests/core")
        _coverage(folder, *RUN, *UNCOMPILED, *SMALL_TRIALS)
        _coverage(folder, "combine", "-q")
        report = Path(folder, "report.json")
        _coverage(folder, "json", "-q", "-o", str(report))
        _coverage(folder, "report", "--show-missing", "--skip-covered", "--skip-empty")
        files = json.loads(report.read_text())["files"]
    return 0 if _by_folder(files) >= LEAST else 1


def _by_folder(files: dict[str, dict]) -> float:
    """Print a line for each folder; returns the percent of branches of all."""
    sums: dict[str, dict[str, int]] = defaultdict(lambda: dict.fromkeys(FIGURES, 0))
    for name, file in files.items():
        for place in (str(Path(name).parent), "all of the core"):
            for figure in FIGURES:
                sums[place][figure] += file["summary"][figure]
    print()
    for place, figures in sorted(sums.items(), key=lambda item: (item[0] == "all of the core", item[0])):
        lines, covered, branches, taken = (figures[figure] for figure in FIGURES)
        print(f"{place:45} lines {_percent(covered, lines):5.1f} %   branches {_percent(taken, branches):5.1f} %")
    return _percent(taken, branches)


def _percent(part: int, whole: int) -> float:
    return 100 * part / whole if whole else 100.0


if __name__ == "__main__":
    sys.exit(main())
