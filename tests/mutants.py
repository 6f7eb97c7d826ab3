"""`python -m tests.mutants --seed 1`: does tests/core find small faults in the core?

So many faults are drawn by the seed; each is put into a copy of the project, never into the project itself, and the
tests of tests/core run against it: those of its module first, then all. A fault that no test finds has survived: exit
code 1, and a test is missing. One that makes the tests run endlessly counts as found.

In a module whose code is compiled, the small trials run uncompiled first, which takes seconds; the compiler, a minute,
runs only where they found nothing.
"""

from __future__ import annotations

import hashlib
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from argparse import ArgumentParser, Namespace
from collections import Counter
from pathlib import Path

from buildlog.kernels import sources
from tests.mutation_points import CORE, ROOT, Mutant, mutants_of

COPIED = ("buildlog", "tests", "pyproject.toml", "OPTIONS.md")
PYTEST = (sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "--no-header", "--tb=no")
UNCOMPILED = ("-p", "tests.uncompiled")
SMALL_TRIALS = ("tests/core/forecast/simulate", "tests/core/plan/materials")  # bearable without the compiler
FOUND_NOTHING = (0, 5)  # passed, or nothing collected
MOST_BYTES = 8 * 2**30  # an endless loop may also ask for memory without end
LONGEST_S = 3600.0  # for what waits without working; work itself is counted by the processor, however busy that is


def _asked() -> Namespace:
    parser = ArgumentParser(prog="python -m tests.mutants", description="Seeded faults that tests/core must find.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--number", type=int, default=30, help="how many faults (30)")
    parser.add_argument("--only", default="", metavar="PART", help="only modules with this in their path")
    parser.add_argument("--list", action="store_true", help="print the faults and run nothing")
    return parser.parse_args()


def chosen(seed: int, number: int, only: str = "") -> list[Mutant]:
    """Every fault is as likely as any other, and drawn whatever stands elsewhere: the lowest digests win."""
    seen: Counter[str] = Counter()
    drawn = []
    for path in sorted(path for path in CORE.rglob("*.py") if only in path.relative_to(CORE).as_posix()):
        for mutant in mutants_of(path):
            says = f"{path.relative_to(CORE).as_posix()} {mutant.before} {mutant.after}"
            seen[says] += 1
            drawn.append((hashlib.sha256(f"{seed} {says} {seen[says]}".encode()).digest(), mutant))
    return [mutant for _, mutant in sorted(drawn, key=lambda pair: pair[0])[:number]]


def main() -> int:
    asked = _asked()
    mutants = chosen(asked.seed, asked.number, asked.only)
    if asked.list:
        print(*mutants, sep="\n")
        return 0
    with tempfile.TemporaryDirectory(prefix="buildlog-mutants-") as folder:
        copy = _copy(Path(folder))
        whole = _tests_find_nothing(copy, ("tests/core",), LONGEST_S)
        usual = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        if not whole or not _tests_find_nothing(copy, SMALL_TRIALS, LONGEST_S, *UNCOMPILED):
            print("tests/core fails without any fault: mend that first.")
            return 2
        survivors = [mutant for mutant in mutants if not _is_noticed(copy, mutant, usual)]
    print(f"seed {asked.seed}: {len(mutants) - len(survivors)} of {len(mutants)} faults found", *survivors, sep="\n")
    return 1 if survivors else 0


def _copy(folder: Path) -> Path:
    for part in ROOT.iterdir():
        if part.name in COPIED and part.is_dir():
            shutil.copytree(part, folder / part.name, ignore=shutil.ignore_patterns("__pycache__"))
        elif part.name in COPIED:
            shutil.copy2(part, folder)
        elif part.suffix or not part.name.startswith("."):
            (folder / part.name).symlink_to(part)
    return folder


def _is_noticed(copy: Path, mutant: Mutant, usual: float) -> bool:
    """Whether the tests, which usually take so long [s of the processor], notice; the copy is as it was afterwards,
    down to the time of the file."""
    place, began = copy / mutant.path.relative_to(ROOT), time.monotonic()
    place.write_text(mutant.source)
    try:
        noticed = _notice(copy, mutant.path, usual)
    finally:
        shutil.copy2(mutant.path, place)
    print(f"{'found' if noticed else 'SURVIVED':8} {time.monotonic() - began:4.0f} s  {mutant}", flush=True)
    return noticed


def _notice(copy: Path, path: Path, usual: float) -> bool:
    compiled = path in sources()
    first, options = (SMALL_TRIALS, UNCOMPILED) if compiled else (_own_tests(copy, path), ())
    if first and not _tests_find_nothing(copy, first, 60 + usual, *options):
        return True
    return not _tests_find_nothing(copy, ("tests/core",), 60 + 3 * usual)


def _own_tests(copy: Path, path: Path) -> tuple[str, ...]:
    """What mirrors the module."""
    place = Path("tests", "core", path.relative_to(CORE))
    mirror = place.with_name(f"test_{place.name}")
    return (mirror.as_posix(),) if (copy / mirror).exists() else ()


def _tests_find_nothing(copy: Path, tests: tuple[str, ...], seconds: float, *options: str) -> bool:
    environment = {name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    try:
        run = subprocess.run(
            [*PYTEST, *options, *tests], cwd=copy, env=environment, capture_output=True, timeout=LONGEST_S,
            preexec_fn=lambda: _limit(round(seconds)),
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return False
    return run.returncode in FOUND_NOTHING


def _limit(seconds: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))


if __name__ == "__main__":
    sys.exit(main())
