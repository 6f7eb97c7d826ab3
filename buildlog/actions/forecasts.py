"""Saving forecasts, and seeing to it that one build's forecast is computed by one process at a time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from buildlog.core.forecast.result.document.coding import encode
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.models import Build, Claim, SavedForecast

LONGEST = timedelta(minutes=2)  # a claim older than this was left by a process that died


@contextmanager
def claimed(build: Build, now: datetime) -> Iterator[bool]:
    """True inside for the one who may compute; False for everybody else until that one is done."""
    claims = Claim.objects.filter(build=build)
    Claim.objects.get_or_create(build=build)
    of_another_time = Q(claimed_at__lt=now - LONGEST) | Q(claimed_at__gt=now + LONGEST)  # a clock that ran ahead
    mine = bool(claims.filter(Q(claimed_at__isnull=True) | of_another_time).update(claimed_at=now))
    try:
        yield mine
    finally:
        if mine:  # not what somebody else took over because this one took so long
            claims.filter(claimed_at=now).update(claimed_at=None)


@transaction.atomic
def save(
    *, build: Build, document: ForecastDocument, as_of: datetime, follows_from: str, took_s: float
) -> SavedForecast:
    """Save a forecast in the place of an earlier one of the same day."""
    forecast, _ = SavedForecast.objects.update_or_create(
        build=build,
        day=as_of.astimezone(build.zone).date(),
        defaults={
            "as_of": as_of, "made_at": timezone.now(), "took_s": took_s, "follows_from": follows_from,
            "report": encode(document),
        },
    )  # fmt: skip
    return forecast


def drop_later(*, build: Build, than: date) -> None:
    """Forecasts of days to come were made by a clock that ran ahead: they would be taken for the newest until then."""
    build.forecasts.filter(day__gt=than).delete()
