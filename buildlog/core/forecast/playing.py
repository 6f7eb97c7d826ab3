"""All trials of one scene, shared among the processors."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from buildlog.core.forecast.compiled import whole
from buildlog.core.forecast.tables import F8, KINDS, LOGGED, PATH, REASONS, WAITED, Log, Luck, Scene, no_log
from buildlog.core.forecast.trials import new_trial, run

SHARE = 64  # trials that are worth handing to a thread
RESULTS = 2 + 2 * KINDS + REASONS  # finish, missing, KINDS hours, KINDS of the longest chain, waits by reason


@whole
def play_some(w: Scene, luck: Luck, log: Log, rows: F8, begin: int, end: int) -> int:
    """Play the trials begin…end−1 into their result rows; the number of chunks of work logged in the last."""
    logged = 0
    for t in range(begin, end):
        z = new_trial(w, luck, t)
        last = run(z, log, rows, t)
        for kind in range(KINDS):
            rows[t, 2 + kind] = z.tot[kind]
            rows[t, 2 + KINDS + kind] = z.at[last, PATH + kind] if last >= 0 else 0.0
        for why in range(REASONS):
            rows[t, 2 + 2 * KINDS + why] = z.tot[WAITED + why]
        logged = z.num[LOGGED]
    return logged


def play(w: Scene, luck: Luck, log: Log | None = None) -> F8:
    """All trials, shared among the processors, one result row each: finish [h after as-of, inf = never], person-hours
    missing, person-hours by kind, hours by kind on the longest chain of waiting, idle hours by reason.

    The processors share nothing and chance does not depend on order, so their number does not change a bit.
    """
    trials = len(luck.key)
    rows = np.zeros((trials, RESULTS))
    if log is not None or trials <= SHARE:
        play_some(w, luck, log or no_log(), rows, 0, trials)
        return rows
    with ThreadPoolExecutor() as pool:
        parts = [
            pool.submit(play_some, w, luck, no_log(), rows, begin, min(begin + SHARE, trials))
            for begin in range(0, trials, SHARE)
        ]
    for part in parts:
        part.result()
    return rows
