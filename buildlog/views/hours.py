"""Hours: who worked when on what, what came of it, and stints entered afterwards."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from buildlog.access import BuildRequest, crew_only
from buildlog.actions import logbook, stints, ticks
from buildlog.core.errors import Refused
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import Spell
from buildlog.forms.hours import ChoiceForm, PastStintForm
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build
from buildlog.queries.hours import Choice, hours_page
from buildlog.views.answers import posted, show


@crew_only
def page(request: BuildRequest) -> HttpResponse:
    """Helpers see their own stints, the lead everybody's."""
    chooser = ChoiceForm(request.build, request.GET)
    data = chooser.cleaned_data if chooser.is_valid() else {}
    own = None if request.person.is_lead else request.person.pk
    choice = Choice(own or data.get("person"), data.get("work") or "", data.get("day"))
    number = request.GET.get("page", "1")[:9]  # any number beyond the last page is the last page
    hours = hours_page(request.build, choice, int(number) if number.isdecimal() else 1)
    asked = request.GET.copy()
    asked.pop("page", None)
    return show(request, "hours/page.html", hours=hours, chooser=chooser, asked=asked.urlencode(), active="hours")


@crew_only
def enter(request: BuildRequest) -> HttpResponse:
    """A stint that is over. Helpers enter their own."""
    own = None if request.person.is_lead else request.person.pk
    form = PastStintForm(request.build, own, posted(request))
    if request.method == "POST" and _enter(request, form):
        messages.success(request, "The stint is entered.")
        return redirect("hours", request.build.code)
    return show(request, "hours/enter.html", form=form, active="hours")


def _enter(request: BuildRequest, form: PastStintForm) -> bool:
    """Was it entered? If not, all that fields and logbook refuse is shown at once."""
    good, build, now = form.is_valid(), request.build, timezone.now()
    try:
        told = form.told(build)
        logbook.refuse(build=build, now=now, **told)
        if good:
            logbook.enter(
                build=build, stint_id=told["stint_id"], people=told["people"], work=_work(build, told), now=now,
                spell=Spell(told["start"], told["end"], told["rest"]), pixels=told["pixels"],
            )  # fmt: skip
            return True
    except Refused as refused:
        show_refusal(form, refused)
    return False


def _work(build: Build, told: dict[str, Any]) -> stints.Work:
    segment = ticks.current_segment(build, told["segment"]) if told["segment"] else None
    stage = told["work"] in STAGES
    return stints.Work(
        Stage(told["work"]) if stage else None, None if stage else build.jobs.get(name=told["work"]), segment
    )
