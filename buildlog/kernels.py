"""Where compiled kernels are kept.

numba looks at the file of a kernel to see whether its compiled form is still good, but not at the files of what that
kernel calls: after an update it would run a mixture of old and new, which can crash. So the folder is named by a
digest of all the code that is compiled, and of no other: what else changes costs nobody a minute of compiling.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).parent.parent
CORE = ROOT / "buildlog" / "core"
COMPILED = re.compile(rb"^@(?:step|whole|numba\.njit)\b", re.MULTILINE)
IMPORTED = re.compile(rb"^from (buildlog\.core[.\w]*) import", re.MULTILINE)


def keep_in(*folders: Path) -> Path | None:
    """Set NUMBA_CACHE_DIR to the first of these folders that can be written, unless somebody set it already."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return Path(os.environ["NUMBA_CACHE_DIR"])
    for folder in folders:
        kernels = folder / digest()
        try:
            kernels.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        os.environ["NUMBA_CACHE_DIR"] = str(kernels)
        return kernels
    return None


def digest(core: Path = CORE) -> str:
    """Of what is compiled and of the compiler."""
    digest = hashlib.sha256(version("numba").encode())
    for path in sources(core):
        digest.update(str(path.relative_to(core)).encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def sources(core: Path = CORE) -> list[Path]:
    """The modules with something compiled, and those that they import: a constant is compiled into what reads it."""
    waiting = [path for path in core.rglob("*.py") if COMPILED.search(path.read_bytes())]
    reached: set[Path] = set()
    while waiting:
        path = waiting.pop()
        if path not in reached:
            reached.add(path)
            waiting += _imported(path.read_bytes(), core)
    return sorted(reached)


def _imported(content: bytes, core: Path) -> Iterator[Path]:
    for name in IMPORTED.findall(content):
        place = core.parent.parent.joinpath(*name.decode().split("."))
        yield from [place.with_suffix(".py")] if not place.is_dir() else place.glob("*.py")
