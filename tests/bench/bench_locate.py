"""How long it takes to say where a pixel of a frozen plan is, in a ball of 20,000 pixels and of 1,000,000."""

import time
from collections.abc import Iterator
from dataclasses import replace

from django.test.runner import DiscoverRunner
from django.utils import timezone

from buildlog.actions import builds, plans
from buildlog.models import Plan
from buildlog.queries.places import begun_before, on_channel
from tests.bench import Figure
from tests.bench.bench_plan import BALL, SIZES

TIMES = 200


def figures() -> Iterator[Figure]:
    runner = DiscoverRunner(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        yield from _figures()
    finally:
        runner.teardown_databases(databases)


def _figures() -> Iterator[Figure]:
    """The look-up itself, then with the plan's row read and the place reckoned."""
    took: dict[str, tuple[float, float]] = {}
    for name in ("20,000", "1,000,000"):
        plan = _frozen(SIZES[name], f"B{len(took)}")
        lookup = _each(lambda plan, channel: begun_before(plan.build_id, channel, 7), plan)
        took[name] = lookup, _each(lambda plan, channel: on_channel(plan.build.plans.get(), channel, 7), plan)
        yield Figure(f"run of a pixel, {name} pixels", 1e6 * took[name][0], "µs")
        yield Figure(f"place of a pixel, {name} pixels", 1e6 * took[name][1], "µs")
    (small, small_place), (large, large_place) = took.values()
    yield Figure("run of a pixel, 1,000,000 pixels against 20,000", large / small, "times")
    yield Figure("place of a pixel, 1,000,000 pixels against 20,000", large_place / small_place, "times")


def _frozen(diameter_m: float, code: str) -> Plan:
    now = timezone.now()
    build = builds.begin(code=code, name=code, time_zone="UTC", now=now)
    plans.save(build=build, parameters=replace(BALL, diameter_m=diameter_m), by=None, now=now)
    return plans.freeze(build=build, by=None, now=now)


def _each(find, plan: Plan) -> float:
    channels = plan.build.runs.order_by("-channel").values_list("channel", flat=True)[0]
    find(plan, 1)
    began = time.perf_counter()
    for number in range(TIMES):
        find(plan, 1 + number % channels)
    return (time.perf_counter() - began) / TIMES
