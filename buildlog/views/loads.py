"""Loading a lead's table from the browser: all of it, or nothing and every bad row."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from buildlog.access import BuildRequest, lead_only
from buildlog.core.errors import Problem, Refused
from buildlog.forms.load import FileForm
from buildlog.loading import KINDS, load
from buildlog.views.answers import show

# Rings are the plan's own.
SCREENS = {"crew": "crew", "availability": "crew", "stints": "hours", "jobs": "jobs", "stock": "supplies"}


@lead_only
def page(request: BuildRequest, kind: str) -> HttpResponse:
    if kind not in SCREENS:
        raise Http404(f"There is nothing to load called {kind}.")
    form = FileForm(request.POST or None, request.FILES or None)
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            number, remarks = _take(request, kind, form)
        except Refused as refused:
            problems = refused.problems
        else:
            messages.success(request, f"{number} {KINDS[kind].noun} loaded.")
            for remark in remarks:
                messages.info(request, f"{remark[0].upper()}{remark[1:]}.")
            return redirect(SCREENS[kind], request.build.code)
    response = show(request, "load/page.html", form=form, kind=kind, known=KINDS[kind], problems=problems)
    response.status_code = 422 if problems else response.status_code
    return response


def _take(request: BuildRequest, kind: str, form: FileForm) -> tuple[int, tuple[str, ...]]:
    content = form.cleaned_data["file"]
    return load(kind, content, build=request.build, by=request.person, now=timezone.now())
