"""The start: the builds that this person may see."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from buildlog.access import SESSION_KEY, anybody, builds_joined, person_at
from buildlog.actions.sign_in import first_run_code
from buildlog.models import Build
from buildlog.queries.home import builds_of_account
from buildlog.views.answers import landing, show


@anybody
def home(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return show(request, "home/page.html", builds=builds_of_account(request.user))
    held = request.session.get(SESSION_KEY, {})
    build = Build.objects.filter(code=held.get("build")).first()
    if build and (person := person_at(request, build)):
        return redirect(landing(build, person))
    if first_run_code():
        return redirect("first_run")
    return show(request, "home/nobody.html", builds=builds_joined(request))
