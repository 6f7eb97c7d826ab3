"""Handing out the coming shift as the day plan suggests: looked at first, all of it or one helper's, and undone."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import BuildRequest, lead_only
from buildlog.actions import assignments
from buildlog.queries.assignments import preview_of
from buildlog.views.answers import show


@lead_only
@require_safe
def page(request: BuildRequest) -> HttpResponse:
    """What would change, by helper."""
    return _page(request)


@lead_only
@require_POST
def take(request: BuildRequest) -> HttpResponse:
    """All of it, or one helper's. What was seen is what is taken: a suggestion made since is shown first."""
    preview, helper = preview_of(request.build), request.POST.get("helper") or None
    chosen = preview.suggestion.of(helper) if preview and preview.version == request.POST.get("version") else ()
    if not chosen:
        messages.error(request, "The day plan was made anew meanwhile: look at it again, then hand out.")
        return redirect("assignments", request.build.code)
    done = assignments.take(build=request.build, assignments=chosen, by=request.person, now=timezone.now())
    return _page(request, done=done)


@lead_only
@require_POST
def take_back(request: BuildRequest, record: int) -> HttpResponse:
    """Free again what one handing-out gave."""
    line = get_object_or_404(request.build.records.filter(verb=assignments.VERB), pk=record)
    done = assignments.take_back(build=request.build, line=line, by=request.person, now=timezone.now())
    return _page(request, done=done, undone=True)


def _page(request: BuildRequest, **context: Any) -> HttpResponse:
    preview = preview_of(request.build)
    return show(request, "forecast/assignments.html", preview=preview, active="forecast", **context)
