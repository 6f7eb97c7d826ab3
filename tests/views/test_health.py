"""What is said to whatever watches over the app."""

from __future__ import annotations

import pytest
from django.db import OperationalError


@pytest.mark.django_db
def test_it_is_well_when_the_database_answers(client, shed):
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"ok")
    assert not answer.cookies and answer["Cache-Control"] == "no-store"


@pytest.mark.django_db
def test_it_is_not_when_the_database_is_away(client, monkeypatch):
    def trip(*_):
        raise OperationalError("could not connect to server at 10.0.0.9 as user ball")

    monkeypatch.setattr("django.db.models.query.QuerySet.exists", trip)
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (503, b"away")
