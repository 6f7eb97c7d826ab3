"""Headers that every answer of the app carries."""

from django.utils.cache import patch_vary_headers

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


def security_headers(get_response):
    """Allow nothing from elsewhere and nothing inline; keep fragments out of the Back button."""

    def middleware(request):
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=(), payment=()")
        # One address answers with a page or with a part of it: a cache must tell them apart.
        patch_vary_headers(response, ["HX-Request"])
        return response

    return middleware
