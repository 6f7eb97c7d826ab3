"""The worst of the files made to eat the machine: seconds of a processor, and memory, each in a process of its own."""

import tempfile
from collections.abc import Iterator

from tests.bench import Figure
from tests.files.hostile import PACKS, TABLES, read_in_child


def figures() -> Iterator[Figure]:
    outcomes = {}
    for name in (*TABLES, *PACKS):
        with tempfile.TemporaryDirectory() as folder:
            outcomes[name] = read_in_child(name, folder)
    for what, unit in (("seconds", "s"), ("peak_mb", "MB")):
        worst = max(outcomes, key=lambda name: outcomes[name][what])
        yield Figure(f"{len(outcomes)} hostile files, the worst ({worst})", outcomes[worst][what], unit)
