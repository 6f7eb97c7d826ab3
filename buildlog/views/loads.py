"""Loading a lead's table from the browser: all of it, or nothing and every bad row."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import BuildRequest, lead_only
from buildlog.core.errors import Problem, Refused
from buildlog.forms.load import FileForm
from buildlog.imports import Busy, Cancelled, Import, alone
from buildlog.loading import KINDS, load
from buildlog.views.answers import show
from buildlog.words import say

# Rings are the plan's own.
SCREENS = {"crew": "crew", "availability": "crew", "stints": "hours", "jobs": "jobs", "stock": "supplies"}


@lead_only
def page(request: BuildRequest, kind: str) -> HttpResponse:
    if kind not in SCREENS:
        raise Http404(f"There is nothing to load called {kind}.")
    importing = uuid4()
    form = FileForm(request.POST or None, request.FILES or None, initial={"id": importing})
    problems: tuple[Problem, ...] = ()
    status = 200
    if request.method == "POST" and form.is_valid():
        importing = form.cleaned_data["id"] or importing
        try:
            number, remarks = _take(request, kind, form.cleaned_data["file"], importing)
        except Cancelled as refused:
            messages.info(request, say(refused))
            return redirect("load", request.build.code, kind)
        except Refused as refused:
            problems, status = refused.problems, 503 if isinstance(refused, Busy) else 422
        else:
            messages.success(request, f"{number} {KINDS[kind].noun} loaded.")
            for remark in remarks:
                messages.info(request, f"{remark[0].upper()}{remark[1:]}.")
            return redirect(SCREENS[kind], request.build.code)
    response = show(
        request, "load/page.html", form=form, kind=kind, known=KINDS[kind], problems=problems, importing=importing
    )
    response.status_code = status if problems else response.status_code
    return response


def _take(request: BuildRequest, kind: str, content: bytes, importing: UUID) -> tuple[int, tuple[str, ...]]:
    with alone(Import(importing)) as made:
        return load(kind, content, build=request.build, by=request.person, now=timezone.now(), watch=made)


@lead_only
@require_safe
def progress(request: BuildRequest, importing: UUID) -> HttpResponse:
    """How far an import is, asked for again and again; nothing while it is not running."""
    far = Import(importing).progress()
    if far is None:
        return HttpResponse(status=204)
    return show(request, "load/_progress.html", taken=far[0], rows=far[1], importing=importing)


@lead_only
@require_POST
def cancel(request: BuildRequest, importing: UUID) -> HttpResponse:
    """The import stops and leaves nothing behind; the page that sent it says so."""
    Import(importing).cancel()
    return HttpResponse(status=204)
