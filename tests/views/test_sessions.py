"""Sessions, their cookies, and passwords exactly as they are typed."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.contrib.sessions.backends.base import VALID_KEY_CHARS
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildlog.actions import sign_in
from tests.people import PASSWORD, client_of, give_device

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.django_db


def key_of(client: Client) -> str:
    cookie = client.cookies.get(settings.SESSION_COOKIE_NAME)
    return cookie.value if cookie else ""


def at_desk(username="Ilse", password=PASSWORD) -> Client:
    client = Client()
    client.post(reverse("sign_in"), {"username": username, "password": password})
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


def test_a_session_is_kept_here_and_its_key_cannot_be_guessed(shed):
    """128 bits at least: ASVS 5.0, 7.2.3. Django draws the letters with `secrets`."""
    client = at_desk()
    assert settings.SESSION_ENGINE == "django.contrib.sessions.backends.db"
    assert len(key_of(client)) * math.log2(len(VALID_KEY_CHARS)) >= 128
    assert key_of(at_desk()) != key_of(client)


def test_a_made_up_session_is_nobodys(shed):
    client = Client()
    client.cookies[settings.SESSION_COOKIE_NAME] = "a" * 32
    assert not is_in(client)


def test_each_sign_in_with_a_password_begins_a_new_session(shed):
    """Else whoever planted a key in a browser would be signed in with it too."""
    client = at_desk()
    before = key_of(client)
    client.post(reverse("sign_in"), {"username": "Ilse", "password": PASSWORD})
    assert key_of(client) not in ("", before) and is_in(client)
    planted = Client()
    planted.cookies[settings.SESSION_COOKIE_NAME] = before
    assert not is_in(planted)


def test_each_sign_in_with_a_pin_begins_a_new_session(shed, helper, lead):
    pin = sign_in.issue_pin(helper, lead, timezone.now())
    client = client_of(helper, give_device(shed))
    before = key_of(client)
    client.post(reverse("enter", args=["SHED", helper.pk]), {"pin": pin})
    assert key_of(client) not in ("", before)
    assert not import_module(settings.SESSION_ENGINE).SessionStore().exists(before)


def test_after_signing_out_the_session_is_of_no_use_to_anybody(shed):
    client = at_desk()
    copied = Client()
    copied.cookies[settings.SESSION_COOKIE_NAME] = key_of(client)
    assert is_in(copied)
    client.post(reverse("sign_out"))
    assert not is_in(copied)


# ---- cookies --------------------------------------------------------------------------------

SHOW = "from django.conf import settings as s; from buildlog import access; print(s.SESSION_COOKIE_NAME, \
s.CSRF_COOKIE_NAME, access.cookie_of('SHED'), access.KNOWN_COOKIE, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE)"


def cookies(tmp_path: Path, **switch: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", f"import django; django.setup(); {SHOW}"], cwd=ROOT, capture_output=True, text=True,
        env=os.environ | {"BUILDLOG_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "buildlog.settings"} | switch,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


@pytest.mark.parametrize("switch", ["BUILDLOG_TLS", "BUILDLOG_HTTPS"])
def test_on_https_every_cookie_is_bound_to_this_host_and_to_https(tmp_path, switch):
    """A browser takes `__Host-` from https alone, for the whole host and no other: RFC 6265bis, 4.1.3.2."""
    *names, session, csrf = cookies(tmp_path, **{switch: "1"})
    assert [name.startswith("__Host-") for name in names] == [True] * 4
    assert (session, csrf) == ("True", "True")


def test_on_plain_http_they_are_taken_too(tmp_path):
    *names, session, csrf = cookies(tmp_path, BUILDLOG_TLS="0", BUILDLOG_HTTPS="0")
    assert not any(name.startswith("__") for name in names) and (session, csrf) == ("False", "False")


# ---- passwords ------------------------------------------------------------------------------

AS_TYPED = [
    "correct horse battery",
    "  blanks at both ends  ",
    "ALLCAPITALSHERE",
    "9827364509182736",
    "Schlüssel–дом–鍵🔑",
    "x" * 200 + "y",
]


@pytest.mark.parametrize("password", AS_TYPED)
def test_any_password_is_taken_exactly_as_typed(db, client, password):
    code = sign_in.first_run_code()
    client.post(reverse("first_run"), {"code": code, "username": "Ilse", "password": password})
    assert is_in(at_desk(password=password))
    others = {password.strip(), password.lower(), password.upper(), password[:-1]} - {password}
    assert not any(sign_in_of("Ilse", other) for other in others)


def sign_in_of(username: str, password: str) -> bool:
    from django.contrib.auth import authenticate

    return authenticate(None, username=username, password=password) is not None


@pytest.mark.parametrize("password", ["seven77", "password", "qwertyuiop", "iloveyou", "Ilse-Ilse"])
def test_a_short_or_common_password_or_one_like_the_name_is_refused(db, client, password):
    code = sign_in.first_run_code()
    answer = client.post(reverse("first_run"), {"code": code, "username": "Ilse-Ilse", "password": password})
    assert answer.status_code == 422 and sign_in.first_run_code() == code


def test_the_list_of_common_ones_is_long_enough():
    """3,000 at least that are as long as a password must be: ASVS 5.0, 6.2.4."""
    from django.contrib.auth.password_validation import CommonPasswordValidator, MinimumLengthValidator

    least = MinimumLengthValidator().min_length
    assert least >= 8
    assert sum(len(each) >= least for each in CommonPasswordValidator().passwords) >= 3_000


def secret_fields() -> list[tuple[str, forms.Field]]:
    from buildlog.forms import crew as crew_forms
    from buildlog.forms import sign_in as sign_in_forms

    found = []
    for module in (crew_forms, sign_in_forms):
        for kind in vars(module).values():
            if isinstance(kind, type) and issubclass(kind, forms.Form) and kind.__module__ == module.__name__:
                fields = kind.base_fields.items()
                found += [(f"{kind.__name__}.{name}", field) for name, field in fields if _secret(name)]
    return found


def _secret(name: str) -> bool:
    return name in ("password", "current", "new", "pin")


@pytest.mark.parametrize(("name", "field"), secret_fields(), ids=lambda each: each if isinstance(each, str) else "")
def test_a_field_for_a_secret_hides_it_and_lets_password_managers_help(name, field):
    """https://html.spec.whatwg.org/multipage/form-control-infrastructure.html#autofill."""
    assert field.widget.input_type == "password" and not getattr(field.widget, "render_value", False)
    assert field.widget.attrs["autocomplete"] in ("current-password", "new-password", "one-time-code")
    assert name.endswith(".pin") or field.strip is False, "blanks belong to a password"


def test_there_are_such_fields():
    assert {name for name, _ in secret_fields()} >= {"PasswordForm.password", "ChangePasswordForm.new", "PinForm.pin"}


def test_passwords_and_pins_are_kept_as_slow_hashes(tmp_path):
    """The settings of the app, not those of the tests."""
    say = "from django.conf import settings; print(settings.PASSWORD_HASHERS[0])"
    done = subprocess.run(
        [sys.executable, "-c", f"import django; django.setup(); {say}"], cwd=ROOT, capture_output=True, text=True,
        env=os.environ | {"BUILDLOG_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "buildlog.settings"},
    )  # fmt: skip
    assert done.stdout.strip().endswith("Argon2PasswordHasher")
