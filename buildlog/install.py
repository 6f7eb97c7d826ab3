"""An environment of the program's own, made by whatever Python there is: `.venv` with what the lock names.

Nothing but Python's own library may be imported here: this runs before anything is installed. `manage.py` calls it when
Django is missing, `make` calls it as `python -m buildlog.install`, for the tests with `--tests`.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
# Each beside its copy in the environment, which says what was installed last.
LOCKS = (("requirements.lock", "installed.lock"), ("tests/requirements.lock", "installed-tests.lock"))
PINNED = re.compile(r"^([\w.-]+)==", re.MULTILINE)
TOLD = re.compile(
    r"^(?:Collecting|Processing|Requirement already satisfied:) (?:\S*[/\\])?([A-Za-z][\w.]*(?:-[A-Za-z]\w*)*)"
)


def python_of(environment: Path = VENV) -> Path:
    """The Python inside: systems disagree about where."""
    return environment / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def inside(environment: Path = VENV) -> bool:
    return Path(sys.prefix).resolve() == environment.resolve()


def go_on_inside(arguments: list[str]) -> None:
    """Install what is missing and run this command again inside; does not come back."""
    if inside():
        sys.exit(f"Django is missing in {VENV}: remove that folder and start again.")
    install()
    command = [str(python_of()), *arguments]
    if sys.platform != "win32":
        os.execv(command[0], command)
    sys.exit(_as_child(command))


def _as_child(command: list[str]) -> int:
    """Windows cannot replace a process: its exit status is handed on, and Ctrl+C reaches both."""
    child = subprocess.Popen(command)
    while True:
        try:
            return child.wait()
        except KeyboardInterrupt:
            continue


def install(*, tests: bool = False, root: Path = ROOT) -> None:
    """Make the environment and install the lock, when its content differs from what was installed last."""
    environment = root / ".venv"
    if _installed(root, environment, tests):
        return
    if not _works(python_of(environment)):
        _make(environment)
    lock, _ = LOCKS[tests]
    _pip(python_of(environment), root / lock)
    for each, copy in LOCKS[: tests + 1]:  # the tests' lock holds all of the other
        shutil.copyfile(root / each, environment / copy)


def _installed(root: Path, environment: Path, tests: bool) -> bool:
    enough = LOCKS[1:] if tests else LOCKS
    return any(_same(root / lock, environment / copy) for lock, copy in enough) and python_of(environment).exists()


def _same(lock: Path, copy: Path) -> bool:
    return copy.exists() and lock.exists() and copy.read_bytes() == lock.read_bytes()


def _works(python: Path) -> bool:
    """It may be left over from a folder that was moved, or from a Python that is gone."""
    try:
        return subprocess.run([str(python), "-m", "pip", "--version"], capture_output=True).returncode == 0
    except OSError:
        return False


def _make(environment: Path) -> None:
    print(f"Making {environment} …", flush=True)
    try:
        venv.create(environment, clear=True, with_pip=True)
    except (OSError, subprocess.CalledProcessError) as wrong:
        shutil.rmtree(environment, ignore_errors=True)
        sys.exit(f"Could not make {environment} ({wrong}).\nOn Debian and Ubuntu: apt-get install python3-venv")


def _pip(python: Path, lock: Path) -> None:
    number = len(PINNED.findall(lock.read_text(encoding="utf-8")))
    print(f"Installing {number} packages (once; some are large) …", flush=True)
    pip = subprocess.Popen(
        [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--progress-bar", "off",
         "--require-hashes", "-r", str(lock)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8", errors="replace",
    )  # fmt: skip
    assert pip.stdout
    lines = list(_with_progress(pip.stdout, number))
    if pip.wait():
        sys.exit("".join(lines[-12:]) + "The packages could not be installed: see above. Is this computer online?")


def _with_progress(lines: Iterable[str], number: int) -> Iterator[str]:
    """Hand the lines on, and say which package it is at."""
    at = 0
    for line in lines:
        if told := TOLD.match(line):
            at += 1
            print(f"  {min(at, number)} of {number}: {told[1]}", flush=True)
        elif line.startswith("Installing collected"):
            print("  all here: putting them in place …", flush=True)
        yield line


if __name__ == "__main__":
    install(tests="--tests" in sys.argv[1:])
