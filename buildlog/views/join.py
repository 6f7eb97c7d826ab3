"""A device joins a build with a one-time code; people come in on it with their name and PIN."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from buildlog.access import (
    BuildRequest,
    VisitorRequest,
    anybody,
    device_at,
    lead_only,
    person_at,
    remember_device,
)
from buildlog.actions import devices, sign_in
from buildlog.core.errors import Refused
from buildlog.forms.refusals import show_refusal
from buildlog.forms.sign_in import CodeForm, JoinForm, PinForm
from buildlog.models import Build, Device
from buildlog.queries.devices import people_on
from buildlog.views.answers import landing, show, way_on
from buildlog.views.signing import enter_with_pin
from buildlog.words import say


@anybody
def join(request: VisitorRequest, code: str) -> HttpResponse:
    """Whatever comes next for this browser: the code, the device's name, or who is using it."""
    request.build = get_object_or_404(Build, code=code)
    request.person = person_at(request, request.build)
    if device := device_at(request, request.build):
        return _names(request, device)
    if not (request.POST.get("c") or request.GET.get("c")):
        return show(request, "join/code.html", ask=CodeForm(), next=way_on(request, ""))
    return _join_device(request)


def _join_device(request: VisitorRequest) -> HttpResponse:
    build, now = request.build, timezone.now()
    start = {"c": request.GET.get("c"), "name": devices.next_name(build)}
    form = JoinForm(request.POST or None, initial=start)
    try:
        if request.method == "POST" and form.is_valid():
            device, key = devices.enrol(build=build, **_named(form), now=now)
            messages.success(request, f"This device has joined as {device}.")
            answer = redirect("join", build.code)
            remember_device(answer, build, key)
            return answer
        devices.invitation(build=build, code=start["c"] or request.POST["c"], now=now)
    except Refused as refused:
        return show(request, "join/code.html", ask=CodeForm(), refused=say(refused.problems[0].sentence))
    return show(request, "join/device.html", form=form)


def _named(form: JoinForm) -> dict[str, str]:
    return {"code": form.cleaned_data["c"], "name": form.cleaned_data["name"]}


@anybody
def switch_person(request: VisitorRequest, code: str) -> HttpResponse:
    """Another person takes over the device. Who is here now stays until the other one's PIN is taken."""
    request.build = get_object_or_404(Build, code=code)
    request.person = person_at(request, request.build)
    device = device_at(request, request.build)
    return _names(request, device) if device else redirect("join", code)


def _names(request: VisitorRequest, device: Device) -> HttpResponse:
    people = people_on(request.build, device, timezone.now())
    return show(request, "join/names.html", people=people, here=request.person, next=way_on(request, ""))


@anybody
@sensitive_post_parameters("pin")
def enter(request: VisitorRequest, code: str, who: int) -> HttpResponse:
    """One person's PIN, on a device that has joined."""
    request.build = get_object_or_404(Build, code=code)
    device = device_at(request, request.build)
    if device is None:
        return redirect("join", code)
    person = get_object_or_404(request.build.people.active(), pk=who)
    form = PinForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            sign_in.try_pin(person=person, device=device, pin=form.cleaned_data["pin"], now=timezone.now())
            enter_with_pin(request, person, device)
            return redirect(way_on(request, landing(request.build, person)))
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "join/pin.html", form=form, who=person, next=way_on(request, ""))


@lead_only
@require_POST
def join_here(request: BuildRequest) -> HttpResponse:
    """The browser at hand becomes a device of the build: the lead is signed in on it, so no code is asked for."""
    build = request.build
    answer = redirect(way_on(request, landing(build, request.person)))
    if device_at(request, build) is None:
        name = request.POST.get("name") or f"{request.person.name}'s own"
        device, key = devices.enrol_here(build=build, by=request.person, name=name, now=timezone.now())
        remember_device(answer, build, key)
        messages.success(request, f"This browser is a device of the build now: {device}.")
    return answer
