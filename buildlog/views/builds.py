"""A build begun, and what is settled about it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from buildlog.access import BuildRequest, account_of, builder_only, lead_only
from buildlog.actions import builds
from buildlog.core.errors import Refused
from buildlog.forms.builds import NewBuildForm, SettingsForm, time_zones
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build
from buildlog.views.answers import show


@builder_only
def new_build(request: BuildRequest) -> HttpResponse:
    """A new build; the one who begins it leads it and lands on its plan."""
    form = NewBuildForm(request.POST if request.method == "POST" else None, initial=_last_of(request))
    if form.is_bound:
        try:
            if form.is_valid():
                build = builds.begin(now=timezone.now(), lead=account_of(request), **form.cleaned_data)
                messages.success(request, f"{build.name} is begun. Now its ball: type over the numbers below.")
                return redirect("plan", build.code)
            if code := form.cleaned_data.get("code"):
                builds.refuse_bad_code(code)  # said together with what the fields say
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "builds/new.html", form=form, zones=time_zones())


@lead_only
def build_settings(request: BuildRequest) -> HttpResponse:
    """Name, place, time zone, target, people, hands and rates."""
    form = SettingsForm(request.build, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            builds.describe(build=request.build, by=request.person, now=timezone.now(), **form.changes)
            messages.success(request, "The settings are kept.")
            return redirect("build_settings", request.build.code)
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "builds/settings.html", form=form, zones=time_zones(), active="plan")


def _last_of(request: BuildRequest) -> dict[str, Any]:
    """Zone and units of the build that this account began last: the next one is mostly nearby."""
    last = Build.objects.filter(people__user=account_of(request)).order_by("-created_at").first()
    return {"time_zone": last.time_zone, "units": last.units} if last else {"units": Build.Units.METRIC}
