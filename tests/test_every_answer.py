"""What every answer of every address carries, whoever asks; and what is no address at all."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from tests.people import client_of, give_device
from tests.test_access import NAMED, address

pytestmark = [pytest.mark.django_db, pytest.mark.screen]
SHOWN_IN_PLACE = {"image/svg+xml", "application/manifest+json", "text/javascript", "text/plain", "application/json"}


@pytest.fixture(params=["Ilse", "Marek", "nobody"])
def visitor(request, shed, helper) -> Client:
    known = shed.people.filter(name=request.param).first()
    client = client_of(known, give_device(shed)) if known else Client()
    client.raise_request_exception = False
    return client


def answers(client: Client) -> Iterator[tuple[str, HttpResponse]]:
    for name in sorted(NAMED):
        if name != "sign_out":
            yield name, client.get(address(name))


def test_no_answer_is_taken_for_what_it_is_not(visitor):
    """Media types and `charset`: RFC 9110, 8.3; `nosniff` keeps a browser from guessing another one."""
    for name, answer in answers(visitor):
        kind, _, rest = answer.get("Content-Type", "").partition(";")
        if not answer.streaming and not answer.content:
            continue  # a redirect has nothing to show
        assert answer["X-Content-Type-Options"] == "nosniff", name
        assert "Content-Security-Policy" in answer and answer["X-Frame-Options"] == "DENY", name
        if kind.startswith("text/") and kind != "text/javascript":
            assert rest.strip() == "charset=utf-8" or kind == "text/plain", (name, answer["Content-Type"])
        if kind != "text/html" and kind not in SHOWN_IN_PLACE and answer.status_code == 200:
            assert answer["Content-Disposition"].startswith(("attachment", "inline; filename=")), name


def test_pages_from_elsewhere_read_nothing(visitor):
    """Nothing is shared across origins: https://fetch.spec.whatwg.org/#http-cors-protocol."""
    visitor.defaults |= {"HTTP_ORIGIN": "https://elsewhere.example"}
    for name, answer in answers(visitor):
        assert not [header for header in answer.headers if header.lower().startswith("access-control-")], name
        assert answer["Referrer-Policy"] == "same-origin", name


@pytest.mark.parametrize(
    "path", ["/.git/config", "/static/../.git/config", "/static/%2e%2e/manage.py", "/manage.py", "/secret-key",
             "/data/secret-key", "/buildlog.sqlite3", "/static/", "/static/js/"],
)  # fmt: skip
def test_what_lies_beside_the_app_is_not_served(visitor, path):
    answer = visitor.get(path)
    assert answer.status_code == 404
    assert not re.search(r"repositoryformatversion|DJANGO_SETTINGS_MODULE", answer.content.decode())


def test_what_is_secret_is_not_taken_from_an_address(shed, client):
    """A password in an address would stand in histories and logs."""
    from tests.people import PASSWORD

    client.get(reverse("sign_in"), {"username": "Ilse", "password": PASSWORD})
    assert client.get(reverse("account")).status_code != 200
