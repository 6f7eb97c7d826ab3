"""`changepassword NAME`: a new password for an account, for somebody at the machine that serves the site."""

from __future__ import annotations

from getpass import getpass
from typing import Any

from django.utils import timezone

from buildlog.actions import passwords
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.management.asking import Asking
from buildlog.management.options import OptionParser


class Command(Asking):
    help = "Set a new password for an account, typed twice. All its sign-ins end; what was entered before still counts."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("name", metavar="NAME", help="the name that the lead signs in with")

    def answer(self, *, name: str, **rest: Any) -> None:
        user = passwords.account_called(name)
        password = getpass("New password: ")
        if getpass("The same again: ") != password:
            raise Refused(Problem(_("The two passwords differ. Nothing was changed.")))
        passwords.set_password(user=user, password=password, now=timezone.now())
        self.stdout.write(f"{user.username} has a new password. All earlier sign-ins have ended.")
