"""Forecasts kept up to date: computed when something they follow from has changed, by one process at a time.

The screen only shows what is kept. `tend` (started by `serve`) and the button on the screen call ``refresh``.
"""

from __future__ import annotations

import hashlib
import json
import time
from dataclasses import asdict, replace
from datetime import datetime

from buildlog.actions import outlooks
from buildlog.core.forecast.world import World
from buildlog.models import Build, Outlook
from buildlog.queries.world import world_of

TRIALS, SEED = 2000, 1


def follows_from(world: World) -> str:
    """A digest of all that a forecast is made from. The moment counts by the hour: time alone changes it slowly."""
    plain = asdict(replace(world, as_of=float(int(world.as_of))))
    return hashlib.sha256(json.dumps(plain, default=sorted, sort_keys=True).encode()).hexdigest()


def stale(build: Build, now: datetime) -> bool:
    """Has something changed since the kept forecast was made?"""
    newest = build.outlooks.newest_first().first()
    return newest is None or newest.follows_from != follows_from(world_of(build, now))


def refresh(build: Build, now: datetime) -> Outlook | None:
    """Compute and keep the forecast when it is stale; None when it is fresh, or being computed by another."""
    world = world_of(build, now)
    digest = follows_from(world)
    newest = build.outlooks.newest_first().first()
    if newest is not None and newest.follows_from == digest:
        return None
    with outlooks.claimed(build, now) as mine:
        if not mine:
            return None
        from buildlog.core.forecast.outlook import outlook  # brings numba, which every page would wait for at start

        begun = time.perf_counter()
        report = outlook(world, trials=TRIALS, seed=SEED).as_json()
        took = time.perf_counter() - begun
        return outlooks.keep(build=build, report=report, as_of=now, follows_from=digest, took_s=took)
