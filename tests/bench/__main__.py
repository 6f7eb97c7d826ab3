"""Run every `bench_….py` beside this file, or those named: `python -m tests.bench plan`."""

import os
import platform
import sys
from importlib import import_module
from pathlib import Path

import django

HERE = Path(__file__).parent


def machine() -> str:
    return f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}, Python {platform.python_version()}"


def chosen(names: list[str]) -> list[str]:
    there = sorted(path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py"))
    if unknown := set(names) - set(there):
        sys.exit(f"no bench named {', '.join(sorted(unknown))}; there are: {', '.join(there)}")
    return names or there


def main(names: list[str]) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    print(machine())
    for name in chosen(names):
        for figure in import_module(f"tests.bench.bench_{name}").figures():
            print(figure, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
