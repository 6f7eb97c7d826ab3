"""The service worker's script. It has to lie at the root, or it may not look after the pages."""

from __future__ import annotations

from django.contrib.staticfiles.finders import find
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from buildlog.access import anybody


@anybody
@require_safe
def script(request: HttpRequest) -> HttpResponse:
    """Only browsers that came by https ask for it; they ask again at each visit whether it has changed."""
    return HttpResponse(_source(), content_type="text/javascript", headers={"Cache-Control": "no-cache"})


def _source() -> bytes:
    if staticfiles_storage.exists("js/worker.js"):
        with staticfiles_storage.open("js/worker.js") as file:
            return bytes(file.read())
    path = find("js/worker.js")
    if path is None:
        raise Http404("The worker's script is not among the static files.")
    with open(path, "rb") as file:
        return file.read()
