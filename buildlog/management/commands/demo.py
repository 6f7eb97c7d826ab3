"""`demo`: loads the demo build, dates relative to today, unless one is there; says how to sign in, and may serve it."""

from __future__ import annotations

import json
import os
import secrets
from itertools import chain, count
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.management import call_command
from django.utils import timezone

from buildlog import demo
from buildlog.actions import sign_in
from buildlog.management.asking import Asking
from buildlog.management.options import OptionParser
from buildlog.models import Build

KEPT = Path(settings.DATA_DIR) / "demo-sign-in.json"


class Command(Asking):
    help = "Load the demo build if none is there, and print how its lead and a helper sign in."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--quiet", action="store_true", help="do not print the sign-ins")
        parser.add_argument("--serve", action="store_true", help="then serve it on this network")

    def answer(self, *, quiet: bool, serve: bool, **rest: Any) -> None:
        call_command("migrate", verbosity=0)
        code = demo.read_scenario()["code"]
        if not Build.objects.filter(code=code).exists():
            self.stdout.write("Loading the demo build: three weeks of an invented crew's work. This takes a moment …")
            self.stdout.flush()
            _load()
        if not quiet and KEPT.exists():
            self.stdout.write(_says(json.loads(KEPT.read_text())))
        if serve:
            call_command("serve")


def _load() -> None:
    now, scenario = timezone.now(), demo.read_scenario()
    password = secrets.token_urlsafe(9)
    user = _account(scenario["lead"], password)
    build = demo.load(lead=user, now=now)
    helper = build.people.get(name=scenario["people"][0]["name"])
    pin = sign_in.issue_pin(helper, build.people.get(user=user), now)
    _keep({"build": build.name, "lead": user.username, "password": password, "helper": helper.name, "pin": pin})


def _account(name: str, password: str) -> User:
    """An account for the demo's lead: the owner when nobody else owns this installation yet."""
    users = get_user_model().objects
    names = chain([name], (f"{name}-{n}" for n in count(2)))
    free = next(each for each in names if not users.filter(username=each).exists())
    owner = not users.filter(is_superuser=True).exists()
    return (users.create_superuser if owner else users.create_user)(username=free, password=password)


def _keep(scenario: dict[str, str]) -> None:
    """The demo's sign-ins stay in the data folder, for its owner's eyes, so that the next start can print them."""
    handle = os.open(KEPT, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        json.dump(scenario, out)


def _says(scenario: dict[str, str]) -> str:
    return (
        f"\n{scenario['build']}\n"
        f"  lead    {scenario['lead']}, password {scenario['password']}\n"
        f"  helper  {scenario['helper']}, PIN {scenario['pin']} (on a device that the lead has let join)\n"
    )
