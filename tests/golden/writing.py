"""Writes golden files: each scenario in a process and on a database of its own, in whatever checkout is named."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from tests.golden import steps

HERE = Path(__file__).parents[2]
SECRET = "golden-" * 8  # the same each time: what is signed with it stands in pages


def write(folder: Path, root: Path = HERE, packs: Path | None = None) -> None:
    """Golden files of the checkout ``root``. ``packs`` are those of before to be taken in; without, its own."""
    _play(folder / "fresh", "steps.txt", root, steps.fresh(), {})
    packs = packs or folder / "fresh" / "packs"
    for pack in sorted(packs.glob("*.zip")):
        taken = [*steps.begin(), *steps.unpacked(pack.stem, pack.absolute())]
        _play(folder / "unpacked", f"{pack.stem}-steps.txt", root, taken, {f"{packs.absolute()}/": ""})


def _play(folder: Path, notes: str, root: Path, todo: Iterable[dict[str, Any]], plain: dict[str, str]) -> None:
    print(f"{folder / notes} …", file=sys.stderr)
    folder.mkdir(parents=True, exist_ok=True)
    work = {"now": steps.NOW, "steps": list(todo), "notes": notes, "plain": plain | {f"{steps.DATA}/": ""}}
    with tempfile.TemporaryDirectory(prefix="buildlog-golden-") as data:
        for name in ("secret-key", "pin-pepper"):
            (Path(data) / name).write_text(SECRET)
        left = {name: value for name, value in os.environ.items() if not name.startswith(("BUILDLOG_", "DATABASE_URL"))}
        subprocess.run(
            [_python(root), Path(__file__).with_name("runner.py").absolute()], cwd=folder, check=True, text=True,
            input=json.dumps(work),
            env=left | {"BUILDLOG_DATA": data, "PYTHONPATH": str(root.absolute()), "DJANGO_SUPERUSER_PASSWORD": SECRET},
        )  # fmt: skip


def _python(root: Path) -> str:
    own = root / ".venv" / "bin" / "python"
    return str(own.absolute() if own.exists() else sys.executable)
