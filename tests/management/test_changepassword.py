"""A new password by command."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command

from buildlog.models import SignIn
from tests.people import PASSWORD, client_of


def type_in(monkeypatch, *typed: str) -> str:
    answers, out = iter(typed), StringIO()
    monkeypatch.setattr("buildlog.management.commands.changepassword.getpass", lambda _: next(answers))
    call_command("changepassword", "ilse", stdout=out, stderr=out)
    return out.getvalue()


def test_a_new_password_ends_every_sign_in(shed, lead, monkeypatch):
    client_of(lead)
    said = type_in(monkeypatch, "reed-warbler-0815", "reed-warbler-0815")
    assert said == "Ilse has a new password. All earlier sign-ins have ended.\n"
    lead.user.refresh_from_db()
    assert lead.user.check_password("reed-warbler-0815") and not SignIn.objects.filter(ended_at=None).exists()


@pytest.mark.parametrize("typed", [("reed-warbler-0815", "reed-warbler"), ("1234", "1234")])
def test_a_slip_or_a_weak_one_changes_nothing(shed, lead, monkeypatch, typed):
    client_of(lead)
    with pytest.raises(SystemExit):
        type_in(monkeypatch, *typed)
    lead.user.refresh_from_db()
    assert lead.user.check_password(PASSWORD) and SignIn.objects.get().ended_at is None
