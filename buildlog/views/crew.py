"""Crew: people, skills, when they come, PINs."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import crew, sign_in
from buildlog.core import cells
from buildlog.core.errors import Refused
from buildlog.forms.crew import AccountForm, PatternForm, PersonForm, ShiftForm
from buildlog.forms.refusals import show_refusal
from buildlog.models import Person, Shift, WeeklyPattern
from buildlog.queries.crew import crew_page
from buildlog.queries.locks import locks_of
from buildlog.views.answers import posted, show
from buildlog.words import say


@member_only
def page(request: BuildRequest) -> HttpResponse:
    now = timezone.now()
    locks = locks_of(request.build, now) if request.person.is_lead else None
    return show(request, "crew/page.html", crew=crew_page(request.build, now), locks=locks, active="crew")


@lead_only
def add(request: BuildRequest) -> HttpResponse:
    form = PersonForm(request.build, posted(request))
    if request.method == "POST" and (person := _put(request, form)):
        messages.success(request, f"{person} is in the crew.")
        return redirect("crew_person", request.build.code, person.pk)
    return show(request, "crew/add.html", form=form, active="crew")


@lead_only
def person(request: BuildRequest, pk: int) -> HttpResponse:
    who = get_object_or_404(request.build.people, pk=pk)
    form = PersonForm(request.build, posted(request), initial=_said(who))
    if request.method == "POST" and _put(request, form, who):
        messages.success(request, f"{form.cleaned_data['name']} is changed.")
        return redirect("crew", request.build.code)
    return _person_page(request, who, form=form)


@lead_only
@require_POST
def shift_add(request: BuildRequest, pk: int) -> HttpResponse:
    who = get_object_or_404(request.build.people, pk=pk)
    form = ShiftForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        start, end = cells.shift(data["date"], data["start"], data["end"], request.build.zone)
        try:
            crew.promise(person=who, starts_at=start, ends_at=end)
            return redirect("crew_person", request.build.code, who.pk)
        except Refused as refused:
            show_refusal(form, refused)
    return _person_page(request, who, shift_form=form, status_form=form)


@lead_only
@require_POST
def shift_drop(request: BuildRequest, pk: int, shift: int) -> HttpResponse:
    crew.withdraw(shift=get_object_or_404(Shift, person__build=request.build, person_id=pk, pk=shift))
    return redirect("crew_person", request.build.code, pk)


@lead_only
@require_POST
def pattern_add(request: BuildRequest, pk: int) -> HttpResponse:
    who = get_object_or_404(request.build.people, pk=pk)
    form = PatternForm(request.POST)
    if form.is_valid():
        today = timezone.now().astimezone(request.build.zone).date()
        crew.promise_weekly(pattern=WeeklyPattern(person=who, first_day=today, **form.cleaned_data))
        return redirect("crew_person", request.build.code, who.pk)
    return _person_page(request, who, pattern_form=form, status_form=form)


@lead_only
@require_POST
def pattern_drop(request: BuildRequest, pk: int, pattern: int) -> HttpResponse:
    get_object_or_404(WeeklyPattern, person__build=request.build, person_id=pk, pk=pattern).delete()
    return redirect("crew_person", request.build.code, pk)


@lead_only
@require_POST
def pin(request: BuildRequest, pk: int) -> HttpResponse:
    """A new PIN, shown this once: only its hash is kept."""
    who = get_object_or_404(request.build.people.active(), pk=pk)
    try:
        fresh = sign_in.issue_pin(who, request.person, timezone.now())
    except Refused as refused:
        messages.error(request, say(refused))
        return redirect("crew_person", request.build.code, pk)
    return show(request, "crew/pin.html", who=who, pin=fresh, active="crew")


@lead_only
@require_POST
def unlock(request: BuildRequest, pk: int) -> HttpResponse:
    """Their wrong PINs no longer count, neither for them nor for the tablets they were typed on."""
    who = get_object_or_404(request.build.people.active(), pk=pk)
    sign_in.unlock(build=request.build, whom=[who], by=request.person, now=timezone.now())
    messages.success(request, f"{who} can type the PIN again.")
    return redirect("crew", request.build.code)


@lead_only
@require_POST
@sensitive_post_parameters("password")
def account(request: BuildRequest, pk: int) -> HttpResponse:
    who = get_object_or_404(request.build.people.active(), pk=pk)
    form = AccountForm(request.POST)
    good = form.is_valid()
    try:
        sign_in.refuse_account(
            username=form.cleaned_data.get("username", ""), password=form.cleaned_data.get("password")
        )
        if good:
            sign_in.give_account(person=who, by=request.person, now=timezone.now(), **form.cleaned_data)
            messages.success(request, f"{who} can sign in with a password now.")
            return redirect("crew_person", request.build.code, pk)
    except Refused as refused:
        show_refusal(form, refused)
    return _person_page(request, who, account_form=form, status_form=form)


@lead_only
@require_POST
def leave(request: BuildRequest, pk: int) -> HttpResponse:
    who = get_object_or_404(request.build.people, pk=pk)
    try:
        crew.leave(person=who, by=request.person, now=timezone.now())
    except Refused as refused:
        messages.error(request, say(refused))
    return redirect("crew", request.build.code)


@lead_only
@require_POST
def come_back(request: BuildRequest, pk: int) -> HttpResponse:
    who = crew.come_back(person=get_object_or_404(request.build.people, pk=pk), by=request.person, now=timezone.now())
    messages.success(request, f"{who} is back in the crew.")
    return redirect("crew_person", request.build.code, pk)


def _put(request: BuildRequest, form: PersonForm, who: Person | None = None) -> Person | None:
    """What the form says, done; or None, with all that fields and crew refuse shown at once."""
    good, build = form.is_valid(), request.build
    try:
        crew.refuse_taken(build=build, name=form.cleaned_data.get("name", ""), person=who)
        if good:
            return crew.put(build=build, by=request.person, now=timezone.now(), person=who, **form.cleaned_data)
    except Refused as refused:
        show_refusal(form, refused)
    return None


def _said(who: Person) -> dict[str, Any]:
    data = {name: getattr(who, name) for name in ("name", "initials", "role", "skills")}
    return data | {"populate_limit_h": f"{who.populate_limit_h:g}"}


def _person_page(request: BuildRequest, who: Person, status_form: Any = None, **forms: Any) -> HttpResponse:
    """The page of one person with its three forms; the one that was sent keeps what was typed."""
    fresh = {
        "form": PersonForm(request.build, initial=_said(who)),
        "shift_form": ShiftForm(),
        "pattern_form": PatternForm(),
        "account_form": AccountForm(),
    }
    coming = who.shifts.filter(ends_at__gte=timezone.now())[:60]
    response = show(
        request, "crew/person.html", who=who, shifts=coming, patterns=who.patterns.all(), active="crew",
        **{**fresh, **forms},
    )  # fmt: skip
    if status_form is not None:
        response.status_code = 422
    return response
