"""What somebody settles for themselves: password or PIN, and where they are signed in."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from buildlog.access import SIGN_IN_KEY, BuildRequest, account_of, account_only, device_at, member_only
from buildlog.actions import passwords, sign_in, sign_ins
from buildlog.core.errors import Refused
from buildlog.forms.refusals import show_refusal
from buildlog.forms.sign_in import ChangePasswordForm, CurrentPinForm
from buildlog.models import Build, Person
from buildlog.queries.sign_ins import sign_ins_of
from buildlog.views.answers import posted, show, way_on
from buildlog.views.signing import end_here, enter_with_password, enter_with_pin


@account_only
@sensitive_post_parameters("current", "new")
def account(request: HttpRequest) -> HttpResponse:
    """A lead's own page. A new password ends every other sign-in; on this browser the work goes on."""
    user = account_of(request)
    form = ChangePasswordForm(posted(request))
    if request.method == "POST" and form.is_valid():
        try:
            passwords.change_password(user=user, **form.cleaned_data, now=timezone.now())
            enter_with_password(request, user)
            messages.success(request, "Password changed. All your other sign-ins have ended.")
            return redirect("account")
        except Refused as refused:
            show_refusal(form, refused)
    zone = Build.objects.filter(people__user=user).order_by("-created_at").values_list("time_zone", flat=True).first()
    with timezone.override(zone or "UTC"):
        return _page(request, user, form)


@account_only
@require_POST
def account_sign_out(request: HttpRequest) -> HttpResponse:
    return _sign_out_everywhere(request, account_of(request))


@account_only
@require_POST
def account_end(request: HttpRequest, entry: UUID) -> HttpResponse:
    _end(request, account_of(request), entry)
    return redirect("account")


@member_only
@sensitive_post_parameters("pin")
def me(request: BuildRequest) -> HttpResponse:
    """The own page of somebody with a PIN; a lead's is the same for all builds."""
    if request.person.user_id is not None:
        return redirect("account")
    device = device_at(request, request.build)
    if device is None:
        return redirect("join", request.build.code)
    form = CurrentPinForm(posted(request))
    if request.method == "POST" and form.is_valid():
        person, now = request.person, timezone.now()
        try:
            sign_in.try_pin(person=person, device=device, pin=form.cleaned_data["pin"], now=now)
            fresh = sign_in.issue_pin(person, person, now)
            enter_with_pin(request, request.build.people.get(pk=person.pk), device)
            return show(request, "account/pin.html", pin=fresh)
        except Refused as refused:
            show_refusal(form, refused)
    return _page(request, request.person, form)


@member_only
@require_POST
def me_sign_out(request: BuildRequest) -> HttpResponse:
    return _sign_out_everywhere(request, _owner(request))


@member_only
@require_POST
def me_end(request: BuildRequest, entry: UUID) -> HttpResponse:
    _end(request, _owner(request), entry)
    return redirect("me", request.build.code)


def _owner(request: BuildRequest) -> User | Person:
    return request.person.user or request.person


def _page(request: HttpRequest, owner: User | Person, form: forms.Form) -> HttpResponse:
    rows = sign_ins_of(owner, timezone.now())
    here = request.session.get(SIGN_IN_KEY)
    return show(request, "account/page.html", form=form, rows=rows, here=here, back=way_on(request, ""))


def _sign_out_everywhere(request: HttpRequest, owner: User | Person) -> HttpResponse:
    sign_ins.end(which=owner.sign_ins.all(), now=timezone.now())
    end_here(request)
    messages.success(request, "Signed out everywhere.")
    return redirect("home")


def _end(request: HttpRequest, owner: User | Person, entry: UUID) -> None:
    sign_in = get_object_or_404(owner.sign_ins, pk=entry)
    sign_ins.end(which=owner.sign_ins.filter(pk=entry), now=timezone.now())
    messages.success(request, f"Signed out on {sign_in.name}.")
