"""Hours: who worked when on what, what came of it, and stints entered afterwards."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from buildlog.access import crew_only
from buildlog.actions import logbook, stints, ticks
from buildlog.core.errors import Problem, Refused
from buildlog.core.work.stages import STAGES, Stage
from buildlog.core.work.stints import Spell
from buildlog.forms.hours import ChoiceForm, PastStintForm
from buildlog.forms.refusals import show_refusal
from buildlog.queries.hours import Choice, hours_page
from buildlog.views.answers import show


@crew_only
def page(request: HttpRequest) -> HttpResponse:
    """Helpers see their own stints, the lead everybody's."""
    chooser = ChoiceForm(request.build, request.GET)
    said = chooser.cleaned_data if chooser.is_valid() else {}
    own = None if request.person.is_lead else request.person.pk
    choice = Choice(own or said.get("person"), said.get("work") or "", said.get("day"))
    number = request.GET.get("page", "1")
    hours = hours_page(request.build, choice, int(number) if number.isdecimal() else 1)
    asked = request.GET.copy()
    asked.pop("page", None)
    return show(request, "hours/page.html", hours=hours, chooser=chooser, asked=asked.urlencode(), active="hours")


@crew_only
def enter(request: HttpRequest) -> HttpResponse:
    """A stint that is over. Helpers enter their own."""
    own = None if request.person.is_lead else request.person.pk
    form = PastStintForm(request.build, own, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            _enter(request, form)
            messages.success(request, "The stint is entered.")
            return redirect("hours", request.build.code)
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "hours/enter.html", form=form, active="hours")


def _enter(request: HttpRequest, form: PastStintForm) -> None:
    said, build = form.cleaned_data, request.build
    if said["end"] > timezone.now():
        raise Refused(Problem("This stint ends in the future: enter it when it is over.", "end"))
    segment = ticks.current_segment(build, said["segment"]) if said["segment"] else None
    stage = said["work"] in {each.value for each in STAGES}
    logbook.enter(
        build=build,
        stint_id=said["stint"],
        people=list(build.people.filter(pk__in=said["name"])),
        work=stints.Work(Stage(said["work"]), None, segment)
        if stage
        else stints.Work(None, build.jobs.get(name=said["work"]), segment),
        spell=Spell(said["start"], said["end"], timedelta(minutes=said["break_min"] or 0)),
        pixels=said["pixels"] or 0,
        now=timezone.now(),
    )
