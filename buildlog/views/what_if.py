"""What if, and what would it take: questions put to the forecast. Answers come by themselves, beside the app."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import questions
from buildlog.core.errors import Refused
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.drawings.beside_chart import beside_drawing
from buildlog.forms.refusals import show_refusal
from buildlog.forms.what_if import TakesForm, WhatIfForm
from buildlog.models import Question
from buildlog.queries.forecast_input import crew_of
from buildlog.queries.questions import Questions, asked_of
from buildlog.views.answers import show


@member_only
def page(request: BuildRequest) -> HttpResponse:
    """All what-ifs beside today. htmx asks every few seconds and gets an answer when something is new."""
    asked = asked_of(request.build)
    if request.htmx and request.GET.get("shown") == asked.version:
        return HttpResponse(status=204)
    return _page(request, asked=asked)


@lead_only
def add(request: BuildRequest) -> HttpResponse:
    return _ask(request, None)


@lead_only
def change(request: BuildRequest, pk: int) -> HttpResponse:
    return _ask(request, get_object_or_404(request.build.questions.what_ifs(), pk=pk))


def _ask(request: BuildRequest, question: Question | None) -> HttpResponse:
    """The form of a what-if; once it is good, its answer is on its way."""
    now, what_if = timezone.now(), WhatIfRequest.of_json(question.asks) if question else None
    names = [person.name for person in crew_of(request.build).working]
    form = WhatIfForm(request.build, names, now, request.POST if request.method == "POST" else None, what_if)
    if form.is_bound:
        try:
            if form.is_valid():
                questions.what_if(build=request.build, request=form.asked(), now=now, question=question)
                return redirect("what_if", request.build.code)
            if name := form.cleaned_data.get("name"):
                questions.refuse_taken(build=request.build, name=name, question=question)
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "forecast/ask.html", form=form, question=question, active="forecast")


@lead_only
@require_POST
def drop(request: BuildRequest, pk: int) -> HttpResponse:
    question = get_object_or_404(request.build.questions.what_ifs(), pk=pk)
    questions.drop(question=question)
    messages.success(request, f"“{question.name}” is taken away.")
    return redirect("what_if", request.build.code)


@lead_only
@require_POST
def takes(request: BuildRequest) -> HttpResponse:
    """What would it take to be so sure of the target?"""
    form = TakesForm(request.POST)
    if form.is_valid():
        questions.what_it_takes(build=request.build, now=timezone.now(), **form.cleaned_data)
        return redirect("what_if", request.build.code)
    return _page(request, form)


def _page(request: BuildRequest, form: TakesForm | None = None, asked: Questions | None = None) -> HttpResponse:
    asked = asked or asked_of(request.build)
    return show(
        request, "forecast/_asked.html" if request.htmx else "forecast/what_if.html", asked=asked, active="forecast",
        drawing=beside_drawing(asked.comparison, asked.as_of, request.build.zone), form=form,
        taking=form or TakesForm(initial=asked.takes.asks if asked.takes else None),
        newest=request.build.forecasts.newest_first().first(),
    )  # fmt: skip
