"""The map of the ball, live, and handing out segments on it."""

from __future__ import annotations

from math import isfinite
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import trigger_client_event

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import assign as acts
from buildlog.core.errors import Refused
from buildlog.core.work.choose import choose
from buildlog.drawings.ball import ball
from buildlog.forms.refusals import show_refusal
from buildlog.forms.sphere import AssignForm, MapFilterForm
from buildlog.queries.sphere import board_of, version_of
from buildlog.views.answers import show

PARTS = {"window": "sphere/_window.html", "": "sphere/_board.html"}


@member_only
@require_safe
def sphere(request: BuildRequest) -> HttpResponse:
    """The page; for htmx the board (nothing when it is as it was seen), or only its window."""
    version = version_of(request.build)
    part = request.GET.get("part", "")
    if request.htmx and not part and request.GET.get("seen") == version:
        return HttpResponse(status=204)
    look = MapFilterForm(request.GET, build=request.build)
    board = board_of(request.build, look.wanted(), *_place(request))
    drawn = ball(board.cells, board.ribs_deg, board.window) if board.cells and part != "window" else ""
    template = PARTS.get(part, PARTS[""]) if request.htmx else "sphere/page.html"
    giving = AssignForm(build=request.build) if request.person.is_lead and not request.htmx else None
    return show(request, template, board=board, ball=drawn, version=version, look=look, giving=giving, active="sphere")


def _place(request: BuildRequest) -> tuple[int | None, float]:
    """Where the window is to begin: ring and azimuth. What is not a number leaves the choice to the board."""
    try:
        ring, azimuth = int(request.GET["ring"]), float(request.GET.get("az", 0))
    except (KeyError, ValueError):
        return None, 0.0
    return ring, azimuth if isfinite(azimuth) else 0.0


@lead_only
@require_POST
def assign(request: BuildRequest) -> HttpResponse:
    """Give the named segments to somebody or nobody; the answer offers to undo it."""
    form = AssignForm(request.POST, build=request.build)
    context: dict[str, Any] = {}
    if form.is_valid():
        try:
            codes = choose(form.cleaned_data["segments"], board_of(request.build).cells)
            to = form.cleaned_data["to"]
            acts.assign(build=request.build, codes=codes, to=to, by=request.person, now=timezone.now())
            context = {"record": request.build.records.filter(verb="assign", by=request.person).first()}
        except Refused as refused:
            show_refusal(form, refused)
    return _given(request, form, **context)


@lead_only
@require_POST
def assign_undo(request: BuildRequest, record: int) -> HttpResponse:
    """Take one handing-out back: each segment to who had it."""
    line = get_object_or_404(request.build.records.filter(verb="assign"), pk=record)
    acts.restore(build=request.build, before=line.detail["before"], by=request.person, now=timezone.now())
    return _given(request, AssignForm(build=request.build), undone=line)


def _given(request: BuildRequest, giving: AssignForm, **context: Any) -> HttpResponse:
    """The form again with what came of it; without htmx the map, and what came of it as a message."""
    done = context.get("record") or context.get("undone")
    if done and not request.htmx:
        messages.success(request, f"Undone: {done.says}" if "undone" in context else done.says)
        return redirect("sphere", request.build.code)
    fresh = AssignForm(build=request.build) if done else giving
    template = "sphere/_give.html" if request.htmx else "sphere/give.html"
    response = show(request, template, giving=fresh, form=giving if not done else None, active="sphere", **context)
    return trigger_client_event(response, "board-changed") if done else response
