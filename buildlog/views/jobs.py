"""Jobs: frame, paint, controller box, commissioning and whatever else belongs to no segment."""

from __future__ import annotations

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import jobs
from buildlog.core.errors import Refused
from buildlog.forms.jobs import JobForm
from buildlog.forms.refusals import show_refusal
from buildlog.models import Job
from buildlog.views.answers import show


@member_only
def page(request: BuildRequest) -> HttpResponse:
    if request.method == "POST" and not request.person.is_lead:
        return redirect("jobs", request.build.code)
    form = JobForm(request.build, None, request.POST or None)
    if request.method == "POST" and form.is_valid() and _put(request, form, None):
        messages.success(request, f"{form.cleaned_data['job']} is noted.")
        return redirect("jobs", request.build.code)
    known = request.build.jobs.prefetch_related("after")
    return show(request, "jobs/page.html", form=form, jobs=known, active="hours")


@lead_only
def job(request: BuildRequest, pk: int) -> HttpResponse:
    each = get_object_or_404(request.build.jobs, pk=pk)
    data = {name: getattr(each, name) for name in ("hours_low", "hours_likely", "hours_high", "hands", "skills")}
    initial = {**data, "job": each.name, "after": [other.name for other in each.after.all()]}
    form = JobForm(request.build, each, request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid() and _put(request, form, each):
        return redirect("jobs", request.build.code)
    return show(request, "jobs/job.html", form=form, job=each, active="hours")


@lead_only
@require_POST
def done(request: BuildRequest, pk: int) -> HttpResponse:
    each = get_object_or_404(request.build.jobs, pk=pk)
    jobs.set_done(job=each, done=request.POST.get("done") == "yes", by=request.person, now=timezone.now())
    return redirect("jobs", request.build.code)


def _put(request: BuildRequest, form: JobForm, each: Job | None) -> bool:
    data = form.cleaned_data
    hours = (data["hours_low"], data["hours_likely"], data["hours_high"])
    try:
        with transaction.atomic():
            jobs.put(
                build=request.build, name=data["job"], hours=hours, hands=data["hands"], skills=data["skills"], job=each
            )
            jobs.wait(build=request.build, name=data["job"].strip(), after=data.get("after", ()))
    except Refused as refused:
        show_refusal(form, refused)
        return False
    return True
