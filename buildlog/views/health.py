"""Whether the app and its database answer: for whatever watches over them, and nothing that a stranger could use."""

from __future__ import annotations

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from buildlog.access import anybody
from buildlog.models import Build


@anybody
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    try:
        Build.objects.exists()
    except DatabaseError:
        return _say("away", 503)
    return _say("ok", 200)


def _say(word: str, status: int) -> HttpResponse:
    return HttpResponse(word, status=status, content_type="text/plain", headers={"Cache-Control": "no-store"})
