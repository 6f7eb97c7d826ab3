"""`run`: brings the database up to date and serves the site."""

from __future__ import annotations

from typing import Any

from django.core.management import call_command

from buildlog.management.commands import serve


class Command(serve.Command):
    help = "Bring the database up to date, then run the app for the site; takes what `serve` takes."

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        super().handle(*args, **options)
