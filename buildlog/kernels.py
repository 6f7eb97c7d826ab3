"""Where compiled kernels are kept.

numba looks at the file of a kernel to see whether its compiled form is still good, but not at the files of what that
kernel calls: after an update it would run a mixture of old and new, which can crash. So the folder is named by a
digest of all the code that is compiled.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

CORE = Path(__file__).parent / "core"


def keep_in(*folders: Path) -> None:
    """Set NUMBA_CACHE_DIR to the first of these folders that can be written, unless somebody set it already."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return
    for folder in folders:
        kernels = folder / _digest()
        try:
            kernels.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        os.environ["NUMBA_CACHE_DIR"] = str(kernels)
        return


def _digest() -> str:
    digest = hashlib.sha256()
    for path in sorted(CORE.rglob("*.py")):
        content = path.read_bytes()
        if b"njit" in content or "forecast" in path.parts:
            digest.update(path.name.encode() + content)
    return digest.hexdigest()[:16]
