"""The Sphere page and its refresh: bytes as they go over the network, and the server's time for them."""

import gzip
import statistics
import time
from collections.abc import Iterator
from dataclasses import replace

from django.db.models import F
from django.test import Client
from django.test.utils import (
    setup_databases,
    setup_test_environment,
    teardown_databases,
    teardown_test_environment,
)

from buildlog.core.plan.parameters import PlanParameters
from buildlog.models import Build
from tests.bench import Figure
from tests.people import account, begin_build, client_of

BALL = PlanParameters(
    diameter_m=2.4, pitch_m=0.03, ring_spacing_m=0.03, top_pixels=30, bottom_pixels=30, ribs=24, closing_rings=(80, 82)
)
SIZES = {"20,000": 2.4, "1,000,000": 16.93}
TIMES = 7
HTMX = {"HTTP_HX_REQUEST": "true"}


def figures() -> Iterator[Figure]:
    setup_test_environment()
    names = setup_databases(verbosity=0, interactive=False)
    try:
        for number, (size, diameter) in enumerate(SIZES.items()):
            lead = account(f"lead{number}")
            build = begin_build(f"B{number}", lead, ball=replace(BALL, diameter_m=diameter))
            half_way(build)
            yield from pages(size, build, client_of(build.people.get()))
    finally:
        teardown_databases(names, verbosity=0)
        teardown_test_environment()


def half_way(build: Build) -> None:
    """Each stage done on the upper part of the ball, less the later the stage; segments half done between."""
    rings = build.segments.current().last().ring
    for part, stage in enumerate(("tested", "wired", "mounted", "populated"), start=1):
        upper = build.segments.filter(ring__lte=rings * part // 6, closing=False)
        upper.update(**{stage: F("pixels")})
        between = build.segments.filter(ring=rings * part // 6 + 1, closing=False)
        between.update(**{stage: F("pixels") / 2})


def pages(size: str, build: Build, client: Client) -> Iterator[Figure]:
    address = f"/b/{build.code}/sphere/"
    page, seconds = timed(client, address)
    yield Figure(f"Sphere page of {size} pixels, compressed", len(gzip.compress(page, 6)) / 1e3, "kB")
    yield Figure(f"Sphere page of {size} pixels, server time", seconds * 1e3, "ms")
    window, seconds = timed(client, f"{address}?part=window&ring=40", **HTMX)
    yield Figure(f"Sphere window of {size} pixels, compressed", len(gzip.compress(window, 6)) / 1e3, "kB")
    yield Figure(f"Sphere window of {size} pixels, server time", seconds * 1e3, "ms")
    _, seconds = timed(client, f"{address}?seen={seen(page)}", **HTMX)
    yield Figure(f"Sphere of {size} pixels, nothing new, server time", seconds * 1e3, "ms")


def timed(client: Client, address: str, **headers: str) -> tuple[bytes, float]:
    """The answer and the middle of some times."""
    took = []
    for _ in range(TIMES):
        started = time.perf_counter()
        answer = client.get(address, **headers)
        took.append(time.perf_counter() - started)
        assert answer.status_code in (200, 204), answer.status_code
    return answer.content, statistics.median(took)


def seen(page: bytes) -> str:
    return page.decode().split('name="seen" value="')[1].split('"')[0]
