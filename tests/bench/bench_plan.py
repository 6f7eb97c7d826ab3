"""How long plans take and how much memory, and what the cut list saves."""

import time
import tracemalloc
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from buildlog.core.plan.materials.cutting import CutList, cut_list
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import compute
from tests.bench import Figure

SIZES = {"20,000": 2.4, "200,000": 7.57, "1,000,000": 16.93}
BALL = PlanParameters(diameter_m=2.4, pitch_m=0.03, ring_spacing_m=0.03, top_pixels=30, bottom_pixels=30)
PLANS = 20


def figures() -> Iterator[Figure]:
    yield from plans()
    yield from cut_lists()


def plans() -> Iterator[Figure]:
    compute(BALL)
    for name, diameter in SIZES.items():
        given = replace(BALL, diameter_m=diameter)
        started = time.perf_counter()
        plan = compute(given)
        yield Figure(f"plan of {name} pixels ({plan.totals.pixels:,})", time.perf_counter() - started, "s")
        tracemalloc.start()
        compute(given)
        yield Figure(f"plan of {name} pixels, memory at most", tracemalloc.get_traced_memory()[1] / 1e6, "MB")
        tracemalloc.stop()


def cut_lists() -> Iterator[Figure]:
    """Random balls, pitches, longest segments and rolls; the same ones each time."""
    random = np.random.default_rng(7)
    found: list[CutList] = []
    started = time.perf_counter()
    for _ in range(PLANS):
        pitch = float(random.choice([0.0254, 0.03, 0.033, 0.04]))
        given = replace(
            BALL,
            diameter_m=float(random.uniform(1.2, 3.0)),
            pitch_m=pitch,
            ring_spacing_m=2 * pitch,
            max_segment=int(random.integers(60, 120)),
            stock=StockParameters(roll_m=pitch * int(random.integers(130, 500)), kerf_holes=1),
        )
        found.append(cut_list(compute(given), seconds=4))
    yield Figure(f"cut list, mean of {PLANS} random plans", (time.perf_counter() - started) / PLANS, "s")
    rolls = sum(one.rolls for one in found)
    yield Figure(
        "cut list: rolls above the bound, all plans together", rolls - sum(one.bound for one in found), "rolls"
    )
    yield Figure("cut list: plans proved to be best", sum(one.proved for one in found), f"of {PLANS}")
    yield Figure(
        "cut list: rolls saved against first fit decreasing", sum(one.first_fit for one in found) - rolls, "rolls"
    )
    yield Figure("cut list: of how many rolls", rolls, "rolls")
