"""Headers that every answer of the app carries, and the answer when the database is away."""

import logging

from django.db import InterfaceError, OperationalError
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils.cache import add_never_cache_headers, patch_vary_headers

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
log = logging.getLogger(__name__)


def security_headers(get_response):
    """Allow nothing from elsewhere and nothing inline; keep fragments out of the Back button, and pages out of caches:
    what they show depends on who asks.
    """

    def middleware(request):
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=(), payment=()")
        # One address answers with a page or with a part of it: a cache must tell them apart.
        patch_vary_headers(response, ["HX-Request"])
        if not response.has_header("Cache-Control"):
            add_never_cache_headers(response)
        return response

    return middleware


def database_away(get_response):
    """A database that is locked, full or away is no fault of what was pressed: 503, and what to do."""

    def process_exception(request, exception):
        if not isinstance(exception, OperationalError | InterfaceError):
            return None
        log.error("The database did not take %s %s: %s", request.method, request.path, exception)
        return HttpResponse(render_to_string("503.html"), status=503)  # without the request: who it is, is in there too

    def middleware(request):
        return get_response(request)

    middleware.process_exception = process_exception
    return middleware
