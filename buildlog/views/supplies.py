"""The Supplies screen: what the build takes, what lies there, what is still to get, and when something runs out."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_safe

from buildlog.access import BuildRequest, lead_only
from buildlog.actions import supplies as acts
from buildlog.files.out import as_csv, as_xlsx
from buildlog.files.plan_tables import supply_table
from buildlog.forms.supplies import CountForm
from buildlog.queries.supplies import store_of
from buildlog.views.answers import as_file, show


@lead_only
def supplies(request: BuildRequest) -> HttpResponse:
    """The whole list; sent back, it is counted anew."""
    store = store_of(request.build, timezone.now())
    if store is None:
        return show(request, "supplies/page.html", store=None, active="supplies")
    form = CountForm(store, request.build.units, request.POST or None)
    if request.method == "POST" and form.is_valid():
        number = acts.count(build=request.build, counted=form.counted, by=request.person, now=timezone.now())
        messages.success(request, "The count is kept." if number else "Nothing has changed.")
        return redirect("supplies", request.build.code)
    rows = [(item, form[item.key] if item.key in form.fields else None) for item in store.items]
    return show(request, "supplies/page.html", store=store, form=form, rows=rows, active="supplies")


@lead_only
@require_safe
def supplies_table(request: BuildRequest, end: str) -> HttpResponseBase:
    """The list as a file, to order by."""
    store = store_of(request.build, timezone.now())
    if store is None or end not in ("csv", "xlsx"):
        raise Http404("There is no such table.")
    table = supply_table(store)
    return as_file(as_csv(table) if end == "csv" else as_xlsx(table), f"{request.build.code}-supplies.{end}")
