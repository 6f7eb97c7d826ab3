"""Forecast: one sentence first, then the odds, the hours left, the rates and what it waits for."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.core.errors import Refused
from buildlog.drawings.charts import charts_of
from buildlog.forecasting import refresh, shown, stale
from buildlog.queries.questions import asked_of
from buildlog.views.answers import show
from buildlog.words import say


@member_only
def page(request: BuildRequest) -> HttpResponse:
    """The newest forecast with its age. htmx asks every few seconds and gets an answer when there is a newer one."""
    newest = request.build.forecasts.newest_first().first() if request.htmx else None
    if newest and request.GET.get("shown") == newest.made_at.isoformat():
        return HttpResponse(status=204)
    seen, plan, now = shown(request.build), request.build.plans.first(), timezone.now()
    if request.htmx and seen is None:
        return HttpResponse(status=204)
    return show(
        request, "forecast/_now.html" if request.htmx else "forecast/page.html",
        seen=seen, charts=charts_of(seen.days, request.build.zone) if seen else None, active="forecast", now=now,
        asked=asked_of(request.build), plan=plan, stale=bool(not request.htmx and plan and stale(request.build, now)),
    )  # fmt: skip


@lead_only
@require_POST
def compute(request: BuildRequest) -> HttpResponse:
    """Now, for whoever does not want to wait for the next round."""
    try:
        if refresh(request.build, timezone.now()) is None:
            messages.info(request, "The forecast is fresh, or is being made right now.")
    except Refused as refused:
        messages.error(request, say(refused))
    return redirect("forecast", request.build.code)
