"""The ground that the other browser tests stand on."""

import pytest
from django.http import HttpResponse
from django.test import override_settings
from django.urls import path

from tests.browser.conftest import watch


def plain(request):
    return HttpResponse("<!doctype html><title>Plain</title><p>Nothing here.")


def inline(request):
    return HttpResponse("<!doctype html><title>Inline</title><script>document.title = 'ran'</script>")


class Addresses:
    urlpatterns = [path("plain/", plain), path("inline/", inline)]


@pytest.fixture(autouse=True)
def addresses():
    with override_settings(ROOT_URLCONF=Addresses):
        yield


def test_the_site_is_reached_by_a_name_that_is_no_secure_context(page):
    page.goto("/plain/")
    assert page.evaluate("[location.hostname, window.isSecureContext]") == ["barn.test", False]


def test_what_the_insecure_context_lacks_is_really_missing_here(page):
    """Source: W3C Secure Contexts, W3C Service Workers, Web Cryptography API ([SecureContext] in the IDL)."""
    page.goto("/plain/")
    assert page.evaluate("typeof crypto.randomUUID + typeof crypto.subtle + typeof navigator.serviceWorker") == (
        "undefined" * 3
    )
    assert page.evaluate("typeof crypto.getRandomValues + typeof indexedDB") == "functionobject"


def test_inline_script_does_not_run_and_is_noticed(chromium, site):
    troubles = []
    device = chromium.new_context(base_url=site)
    page = device.new_page()
    watch(page, troubles)
    page.goto("/inline/")
    assert page.title() == "Inline"
    assert len(troubles) == 1
    device.close()


def test_devices_do_not_share_cookies(open_device, site):
    one, other = open_device(), open_device()
    one.add_cookies([{"name": "mark", "value": "1", "url": site}])
    assert not other.cookies()
