"""Headers that every answer carries, and what is said when the database is away."""

import pytest
from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpResponse

from buildlog.core.errors import Problem, Refused
from buildlog.middleware import CONTENT_SECURITY_POLICY, RefusedAnyway, security_headers


def answer(rf, **headers):
    return security_headers(lambda request: HttpResponse("x", headers=headers))(rf.get("/"))


def test_nothing_inline_and_nothing_from_elsewhere(rf):
    policy = answer(rf)["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "script-src 'self';" in policy
    assert "frame-ancestors 'none'" in policy
    assert "http" not in policy


def test_a_page_and_its_part_are_kept_apart_by_caches(rf):
    assert answer(rf, Vary="Cookie")["Vary"] == "Cookie, HX-Request"


def test_a_view_may_be_stricter(rf):
    stricter = "default-src 'none'"
    assert stricter != CONTENT_SECURITY_POLICY
    assert answer(rf, **{"Content-Security-Policy": stricter})["Content-Security-Policy"] == stricter


@pytest.mark.parametrize(
    "wrong",
    [
        OperationalError("database or disk is full"),
        InterfaceError("connection is closed"),
        DatabaseError("database disk image is malformed"),
    ],
)
def test_a_database_that_is_away_or_full_is_said_and_what_to_do(client, db, monkeypatch, wrong):
    def trip(*_, **__):
        raise wrong

    monkeypatch.setattr("django.contrib.auth.middleware.get_user", trip)
    answer = client.get("/new-build/")
    said = answer.content.decode()
    assert answer.status_code == 503 and "Traceback" not in said
    assert "What was stored before is safe" in said and "whether the disk is full" in said


def test_what_no_view_expected_to_be_refused_is_said_on_a_page(rf):
    problem = Problem("{code} has {rings} rings.", code="<b>", rings=3)
    answer = RefusedAnyway(lambda request: HttpResponse()).process_exception(rf.get("/"), Refused(problem))
    assert answer is not None and answer.status_code == 409
    assert "&lt;b&gt; has 3 rings." in answer.content.decode()
    assert RefusedAnyway(lambda request: HttpResponse()).process_exception(rf.get("/"), ValueError()) is None
