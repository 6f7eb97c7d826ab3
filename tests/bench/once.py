"""A forecast in a process of its own: `python -m tests.bench.once WORLD TRIALS` with a pickled world prints JSON: the
seconds of the first one and of the one after it, and the most memory the process took [bytes]."""

from __future__ import annotations

import json
import pickle
import resource
import sys
import time
from pathlib import Path


def main(path: str, trials: str) -> None:
    from buildlog.core.forecast.result.forecast import forecast

    inputs = pickle.loads(Path(path).read_bytes())
    took = []
    for _ in range(2):
        begun = time.perf_counter()
        forecast(inputs, trials=int(trials), seed=1)
        took.append(time.perf_counter() - begun)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    print(json.dumps({"first": took[0], "next": took[1], "memory": most}))


if __name__ == "__main__":
    main(*sys.argv[1:])
