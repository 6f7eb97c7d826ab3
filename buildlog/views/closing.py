"""Closing the way in: what stands in the way, the lead's word, an override."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import closing
from buildlog.core.errors import Refused
from buildlog.forms.closing import OverrideForm, WordForm
from buildlog.forms.refusals import show_refusal
from buildlog.queries.closing import closing_page
from buildlog.views.answers import show


@member_only
def page(request: BuildRequest) -> HttpResponse:
    return _page(request)


@lead_only
@require_POST
def confirm(request: BuildRequest) -> HttpResponse:
    form = WordForm(request.POST)
    if form.is_valid():
        try:
            closing.confirm(build=request.build, by=request.person, now=timezone.now(), **form.cleaned_data)
            messages.success(request, "Noted: closing segments may be mounted now.")
            return redirect("closing", request.build.code)
        except Refused as refused:
            show_refusal(form, refused)
    return _page(request, form=form)


@lead_only
@require_POST
def override(request: BuildRequest) -> HttpResponse:
    form = OverrideForm(request.POST)
    if form.is_valid():
        try:
            closing.override(build=request.build, by=request.person, now=timezone.now(), **form.cleaned_data)
            messages.warning(request, "Overridden, with the reason on record.")
            return redirect("closing", request.build.code)
        except Refused as refused:
            show_refusal(form, refused)
    return _page(request, form=form, override_form=form, word_form=WordForm())


@lead_only
@require_POST
def withdraw(request: BuildRequest) -> HttpResponse:
    closing.withdraw(build=request.build, by=request.person, now=timezone.now())
    messages.success(request, "Taken back: closing segments cannot be mounted.")
    return redirect("closing", request.build.code)


def _page(request: BuildRequest, **forms: WordForm | OverrideForm) -> HttpResponse:
    """``form`` is the one that was sent; it decides the status of the answer."""
    fresh = {"word_form": forms.get("form") or WordForm(), "override_form": OverrideForm()}
    close_in = closing_page(request.build)
    return show(request, "closing/page.html", close_in=close_in, active="sphere", **{**fresh, **forms})
