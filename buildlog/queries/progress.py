"""How the build came to where it is: ticks by day, jobs done, days with work on them; one query each."""

from __future__ import annotations

from datetime import date, datetime

from django.db.models import Max, Sum
from django.db.models.functions import TruncDate

from buildlog.core.forecast.input import DaysTicks, hours_of
from buildlog.models import Build


def ticks_by_day(build: Build, as_of: datetime) -> tuple[DaysTicks, ...]:
    """Pixels of each segment that passed each stage on each local day, as on file at ``as_of``."""
    days = (
        build.entries.filter(at__lte=as_of, segment__retired_at__isnull=True)
        .order_by()
        .values("segment__code", "stage", day=TruncDate("at", tzinfo=build.zone))
        .annotate(pixels=Sum("pixels"), last=Max("at"))
    )
    return tuple(
        DaysTicks(row["segment__code"], row["stage"], row["day"].toordinal(), row["pixels"], hours_of(row["last"]))
        for row in days
    )


def jobs_done(build: Build, as_of: datetime) -> tuple[tuple[str, float], ...]:
    """(job, when it was said to be done [h UTC])."""
    done = build.jobs.filter(done_at__lte=as_of).order_by("done_at", "name")
    return tuple((name, hours_of(at)) for name, at in done.values_list("name", "done_at") if at is not None)


def days_worked(build: Build, now: datetime) -> frozenset[date]:
    """Local days before today on which something was ticked."""
    today = now.astimezone(build.zone).date()
    days = build.entries.filter(at__lte=now).order_by().values_list(TruncDate("at", tzinfo=build.zone)).distinct()
    return frozenset(day for (day,) in days if day < today)
