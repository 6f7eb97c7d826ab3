"""The start: the builds that this person may see."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from buildlog.access import SESSION_KEY, anybody, builds_joined, may_begin_builds, person_at
from buildlog.actions.sign_in import first_run_code
from buildlog.models import Build
from buildlog.queries.home import builds_of_account
from buildlog.views.answers import landing, show, way_on


@anybody
def home(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        builds, may_begin = builds_of_account(request.user), may_begin_builds(request.user)
        return show(request, "home/page.html", builds=builds, may_begin=may_begin)
    held = request.session.get(SESSION_KEY, {})
    build = Build.objects.filter(code=held.get("build")).first()
    if build and (person := person_at(request, build)):
        return redirect(landing(build, person))
    if first_run_code():
        return redirect("first_run")
    return show(request, "home/nobody.html", builds=builds_joined(request), next=way_on(request, ""))
