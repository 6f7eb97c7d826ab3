"""`unlock NAME`: lets a lead try passwords again who typed too many wrong ones."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from buildlog.actions import passwords
from buildlog.management.asking import Asking
from buildlog.management.options import OptionParser


class Command(Asking):
    help = "Let a lead type passwords again after too many wrong ones. A forgotten one: `changepassword NAME`."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("name", metavar="NAME", help="the name that the lead signs in with")

    def answer(self, *, name: str, **rest: Any) -> None:
        number = passwords.unlock(username=name, now=timezone.now())
        what = f"{number} wrong password{'' if number == 1 else 's'} forgotten" if number else "Nothing was locked"
        self.stdout.write(f"{what}: {name} can sign in. For a new password: python manage.py changepassword {name}")
