"""How fast trials are: against a SimPy model of the same crew, against a loop that does nothing but the events, with
more work, with more helpers; and a whole forecast of the demo. Times of one processor unless said otherwise."""

from __future__ import annotations

import json
import math
import pickle
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.compiled import whole
from buildlog.core.forecast.simulate.draws import draws_of
from buildlog.core.forecast.simulate.heaps import reschedule
from buildlog.core.forecast.simulate.random_numbers import SEGMENT_NOISE, normal
from buildlog.core.forecast.simulate.records import I8, Records
from buildlog.core.forecast.simulate.run import play_some
from buildlog.core.forecast.simulate.state import no_log, no_results
from tests.bench import Figure
from tests.published.at_work import Shed
from tests.published.drawn import Drawn

ROOT = Path(__file__).resolve().parents[2]
TRIALS, SLOW_TRIALS, COUNTED, ROUNDS = 400, 4, 50, 5
DAY = 719163
SIZES = {1_400: 64, 14_000: 16, 56_000: 4}  # items of work: trials


def figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory(prefix="buildlog-bench-") as folder:
        inputs = demo_with_eight(Path(folder))
        yield from against_others(inputs)
        yield from growth()
        yield from whole_forecast(inputs, Path(folder) / "world")


def demo_with_eight(folder: Path) -> ForecastInput:
    """The demo as it stands today, and one helper more."""
    from django.contrib.auth.models import User
    from django.core.management import call_command
    from django.db import connection

    from buildlog import demo
    from buildlog.queries.forecast_input import input_of

    connection.close()
    before, connection.settings_dict["NAME"] = connection.settings_dict["NAME"], str(folder / "demo.sqlite3")
    call_command("migrate", verbosity=0)
    now = datetime.now(UTC)
    inputs = input_of(demo.load(lead=User.objects.create_superuser("lead"), now=now), now)
    connection.close()
    connection.settings_dict["NAME"] = before
    first = inputs.helpers[0]
    more = Helper("One more", first.skills, first.populate_limit_h, first.shifts, added=True)
    return replace(inputs, helpers=(*inputs.helpers, more))


def against_others(inputs: ForecastInput) -> Iterator[Figure]:
    learned = Learned(inputs)
    arrays, draws = arrays_of(inputs, learned), draws_of(inputs, learned, TRIALS, 1)
    results = no_results(TRIALS)
    ours = least(lambda: play_some(arrays, draws, no_log(), results, 0, TRIALS)) / TRIALS
    rng = np.random.default_rng(1)
    theirs = least(lambda: [Shed(inputs, Drawn(draws, t, rng)).play() for t in range(SLOW_TRIALS)], 2) / SLOW_TRIALS
    room = no_log(100 * items_left(inputs))
    stretches = round(sum(play_some(arrays, draws, room, results, t, t + 1) for t in range(COUNTED)) / COUNTED)
    hours = float(results["hours"].mean(axis=0).sum()) / stretches
    bare = least(lambda: only_events(arrays.helpers, arrays.shifts, draws.key, stretches, math.log(hours))) / TRIALS
    name = f"demo, {inputs.pixels:,} pixels, {len(inputs.helpers)} helpers, {items_left(inputs)} pieces left"
    yield Figure(f"{name}: trials", 1 / ours, "1/s")
    yield Figure("the same by the SimPy model", 1 / theirs, "1/s")
    yield Figure("trials beside the SimPy model", theirs / ours, "×")
    yield Figure("a trial's time beside nothing but the events", ours / bare, "×")


def least(act: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Processor seconds, the least of some rounds after one to warm up."""
    took = []
    for _ in range(rounds + 1):
        begun = time.process_time()
        act()
        took.append(time.process_time() - begun)
    return min(took[1:])


def items_left(inputs: ForecastInput) -> int:
    return sum(segment.left(stage) > 0 for segment in inputs.segments for stage in range(4))


@whole
def only_events(crew: Records, shifts: Records, keys: I8, stretches: int, centre: float) -> float:
    """Helpers come, do one stretch of work after another, of log-normal length and as many as a trial has, and go, by
    the same heap and the same chance; no rule, no count by stage, no practice. The sum of the finishes."""
    total = 0.0
    for t in range(len(keys)):
        helpers, queue = crew.copy(), np.arange(len(crew))
        for number in range(len(helpers)):
            helpers[number].place = number
        for number in range(len(helpers)):
            helper = helpers[number]
            helper.shift, helper.until = helper.shift_from, -1.0
            first = helper.shift < helper.shift_to
            reschedule(helpers, queue, number, shifts[helper.shift].start if first else math.inf)
        left, now = stretches, 0.0
        while left > 0:
            number = queue[0]
            helper = helpers[number]
            now = helper.next_event
            if now == math.inf:
                break
            here = helper.shift
            if now >= helper.until and helper.until >= 0.0:
                helper.shift, helper.until = here + 1, -1.0
                last = here + 1 == helper.shift_to
                reschedule(helpers, queue, number, math.inf if last else shifts[here + 1].start)
                continue
            if helper.until >= 0.0:
                left -= 1
            helper.until = shifts[here].end
            end = now + math.exp(centre + 0.3 * normal(keys[t], SEGMENT_NOISE, left))
            reschedule(helpers, queue, number, min(end, helper.until))
        total += now
    return total


# ---- growth ---------------------------------------------------------------------------------


def growth() -> Iterator[Figure]:
    each = {}
    for segments, trials in SIZES.items():
        each[segments] = per_item(crowd(segments, 8), trials)
        yield Figure(f"{segments:,} pieces, 8 helpers: time a piece", each[segments] * 1e6, "µs")
    for segments in list(SIZES)[1:]:
        yield Figure(f"{segments:,} beside {min(SIZES):,} pieces, time a piece", each[segments] / each[min(SIZES)], "×")
    few, many = (per_item(crowd(14_000, crew), 16) for crew in (8, 100))
    yield Figure("100 helpers beside 8, time a piece (14,000, two fit inside)", many / few, "×")
    few, many = (per_item(crowd(14_000, crew, None), 16) for crew in (8, 100))
    yield Figure("100 helpers beside 8, time a piece (14,000, all fit inside)", many / few, "×")


def crowd(items: int, crew: int, inside: int | None = 2) -> ForecastInput:
    """A ball of its own size with a crew that comes every day until it is done."""
    number = items // 4
    segments = tuple(
        SegmentInput(
            f"S{n}",
            60 + 37 * n % 41,
            runs=(RunInput(n // 6, n % 6, 60 + 37 * n % 41),),
            ring=n,
            closing=n >= number - 4,
        )
        for n in range(number)
    )
    shifts = tuple(ShiftInput(24.0 * day + 9, 24.0 * day + 17, DAY + day) for day in range(60 + items // 40))
    helpers = tuple(Helper(f"Helper {n}", shifts=shifts) for n in range(crew))
    return ForecastInput(0.0, segments, helpers, people=(None, None, inside, inside))


def per_item(inputs: ForecastInput, trials: int) -> float:
    learned = Learned(inputs)
    arrays, draws = arrays_of(inputs, learned), draws_of(inputs, learned, trials, 1)
    draws = draws._replace(days_left=np.full_like(draws.days_left, np.inf))
    results = no_results(trials)
    took = least(lambda: play_some(arrays, draws, no_log(), results, 0, trials), 3)
    assert np.isfinite(results["finish"]).all(), "a trial that does not end is not the work that was to be measured"
    return took / trials / items_left(inputs)


# ---- the whole forecast -------------------------------------------------------------------------


def whole_forecast(inputs: ForecastInput, path: Path) -> Iterator[Figure]:
    path.write_bytes(pickle.dumps(inputs))
    command = [sys.executable, "-m", "tests.bench.once", str(path), "2000"]
    begun = time.perf_counter()
    said = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    cold = time.perf_counter() - begun
    found = json.loads(said)
    yield Figure("2,000 trials of the demo, new process, all cores", cold - found["next"], "s")
    yield Figure("the same, warm", found["next"], "s")
    yield Figure("memory at most", found["memory"] / 1e6, "MB")
