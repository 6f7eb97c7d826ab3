"""Headers that every answer of the app carries, and the answers when the database is away or something is refused."""

import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.utils.cache import add_never_cache_headers, patch_vary_headers

from buildlog.away import GONE, file_is_gone, is_away
from buildlog.core.errors import Busy, Refused
from buildlog.words import say

CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",  # blob: a photo is shown before it is sent
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)
GetResponse = Callable[[HttpRequest], HttpResponseBase]
log = logging.getLogger(__name__)


def security_headers(get_response: GetResponse) -> GetResponse:
    """Allow nothing from elsewhere and nothing inline; keep fragments out of the Back button, and pages out of caches:
    what they show depends on who asks.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=(), payment=()")
        # One address answers with a page or with a part of it: a cache must tell them apart.
        patch_vary_headers(response, ["HX-Request"])
        if not response.has_header("Cache-Control"):
            add_never_cache_headers(response)
        return response

    return middleware


class RefusedAnyway:
    """What an act or a stored document refuses and no view has put beside its field: the page says so."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Refused):
            return None
        log.warning("Refused at %s %s", request.method, request.path)
        return HttpResponse(render_to_string("409.html", {"says": say(exception)}), status=409)


class DatabaseAway:
    """A database that is locked, full, damaged or away is no fault of what was pressed: 503, and what to do."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if file_is_gone():  # whatever was answered: what was written is not where the next start looks for it
            return _not_taken(request, GONE)
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        return _not_taken(request, exception) if is_away(exception) else None


def _not_taken(request: HttpRequest, why: object) -> HttpResponse:
    log.error("The database did not take %s %s: %s", request.method, request.path, why)
    return HttpResponse(render_to_string("503.html"), status=503)  # without the request: who it is, is in there too


class TooMuchAtOnce:
    """So many sign-ins are tried that this one was not looked at: 429, and when to come again."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Busy):
            return None
        page = render_to_string("429.html", {"says": say(exception.sentence), "seconds": exception.retry_after_s})
        return HttpResponse(page, status=429, headers={"Retry-After": str(exception.retry_after_s)})
