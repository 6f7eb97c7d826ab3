"""How views answer: a page of this build for this person, a form that came back, the way on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from buildlog.access import LONGEST_WAY_BACK, SIGN_IN_KEY
from buildlog.actions.sign_ins import note_seen
from buildlog.models import Build, Person
from buildlog.views.outbox import outbox_of


def show(request: HttpRequest, template: str, **context: Any) -> HttpResponse:
    """The template with the build and the person at hand. A form that was sent and stayed invalid answers 422."""
    if here := request.session.get(SIGN_IN_KEY):
        note_seen(sign_in=here, now=timezone.now())
    form = context.get("form")
    status = 422 if request.method == "POST" and form is not None and form.is_bound and not form.is_valid() else 200
    at_hand = {"build": getattr(request, "build", None), "person": getattr(request, "person", None)}
    return render(request, template, at_hand | {"outbox": outbox_of(request)} | context, status=status)


def posted(request: HttpRequest) -> QueryDict | None:
    """What a form came back with, be it nothing at all; None where it is only shown."""
    return request.POST if request.method == "POST" else None


FILE_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def as_file(content: bytes | Iterable[bytes], name: str) -> HttpResponseBase:
    """A table to keep; one that comes in pieces is sent in pieces."""
    answer = HttpResponse if isinstance(content, bytes) else StreamingHttpResponse
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return answer(content, content_type=FILE_TYPES[name.rpartition(".")[2]], headers=headers)


def way_on(request: HttpRequest, default: str) -> str:
    """Where the person wanted to go before signing in, if that is an address of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if not wanted.startswith("/") or len(wanted) > LONGEST_WAY_BACK:
        return default
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if ours else default


def landing(build: Build, person: Person) -> str:
    """The screen that a person starts from."""
    return reverse("sphere" if person.role == Person.Role.VIEWER else "today", args=[build.code])
