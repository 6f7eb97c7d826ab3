"""Leads come in with a password; the very first one with the code from the console."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from buildlog.access import PageRequest, anybody, known_browser, remember_browser
from buildlog.actions import passwords
from buildlog.actions import sign_in as acts
from buildlog.core.errors import Refused
from buildlog.forms.refusals import show_refusal
from buildlog.forms.sign_in import FirstAccountForm, PasswordForm
from buildlog.views.answers import show, way_on
from buildlog.views.signing import end_here, enter_with_password


@anybody
@sensitive_post_parameters("password")
def sign_in(request: PageRequest) -> HttpResponse:
    if acts.first_run_code():
        return redirect("first_run")
    form = PasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            browser = known_browser(request, form.cleaned_data["username"])
            user = passwords.try_password(**form.cleaned_data, browser=browser, now=timezone.now())
            return _in(request, user, way_on(request, "/"))
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "sign_in/page.html", form=form, next=way_on(request, ""))


def _in(request: PageRequest, user: User, address: str) -> HttpResponse:
    enter_with_password(request, user)
    answer = redirect(address)
    remember_browser(request, answer, user.username)
    return answer


@anybody
@require_POST
def sign_out(request: PageRequest) -> HttpResponse:
    end_here(request)
    messages.success(request, "Signed out.")
    return redirect("home")


@anybody
@sensitive_post_parameters("password", "code")
def first_run(request: PageRequest) -> HttpResponse:
    if not acts.first_run_code():
        return redirect("sign_in")
    form = FirstAccountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            return _in(request, acts.first_account(**form.cleaned_data, now=timezone.now()), "/")
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "sign_in/first_run.html", form=form)
