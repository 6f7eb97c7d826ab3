"""Tablets of the shed, and a way to send what they made at a chosen moment."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random
from typing import Any

import pytest
from django.test import Client

from buildlog import access
from buildlog.models import Build
from tests.floor.tablet import Tablet
from tests.people import MONDAY, give_device


@pytest.fixture
def new_tablet(shed: Build) -> Callable[..., Tablet]:
    """Call it for one more tablet: `new_tablet(off=timedelta(hours=3))`."""
    made: list[Tablet] = []

    def one(off: timedelta = timedelta(0)) -> Tablet:
        number = len(made) + 1
        device, key = give_device(shed, f"Tablet {number}")
        made.append(Tablet(device, key, off, Random(number)))
        return made[-1]

    return one


@pytest.fixture
def tablet(new_tablet) -> Tablet:
    return new_tablet()


@pytest.fixture
def send(server_clock) -> Callable[..., Any]:
    """`send(tablet, entries, at=…)` posts them as the tablet does when its server's clock shows ``at``."""

    def post(tablet: Tablet, entries: list[Any], at: datetime = MONDAY, clock: datetime | None = None, **options):
        server_clock(clock or at)
        return post_batch(tablet, tablet.batch(entries, at), **options)

    return post


def post_batch(tablet: Tablet, batch: Any, **options):
    client = Client(enforce_csrf_checks=True)
    client.cookies[access.device_cookie(tablet.device.build)] = options.pop("key", tablet.key)
    address = f"/b/{tablet.device.build.code}/entries/"
    return client.post(address, batch, content_type="application/json", **options)


def outcomes(answer) -> list[str]:
    assert answer.status_code == 200, answer.content
    return [result["outcome"] for result in answer.json()["results"]]


def reasons(answer) -> list[str]:
    return [result["reason"] for result in answer.json()["results"]]
