"""`tend`: closes forgotten stints and keeps forecasts fresh, again and again. `serve` starts it beside the app."""

from __future__ import annotations

import os
import signal
import sys
import time
from argparse import ArgumentParser
from typing import Any

from django.db import OperationalError
from django.utils import timezone

from buildlog.actions import stints
from buildlog.core.errors import Refused
from buildlog.forecasting import look_back, refresh
from buildlog.management.asking import Asking
from buildlog.models import Build


def leave_in_order() -> None:
    """Told to stop in the middle of a forecast, give its claim back first: the next start would wait for it."""
    for told in (signal.SIGINT, signal.SIGTERM):
        signal.signal(told, lambda *_: sys.exit(0))


class Command(Asking):
    help = "Close forgotten stints and keep forecasts fresh, until stopped."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=float, default=5, metavar="S", help="seconds between rounds (5)")
        parser.add_argument("--once", action="store_true", help="one round, then end")
        parser.add_argument("--beside", type=int, metavar="PID", help="end when this process has ended")

    def answer(self, *, every: float, once: bool, beside: int | None, **rest: Any) -> None:
        if beside is not None:
            leave_in_order()
        while True:
            self._round()
            if once:
                return
            time.sleep(every)
            if beside is not None and os.getppid() != beside:
                return

    def _round(self) -> None:
        for build in Build.objects.all():
            try:
                if closed := stints.close_forgotten(build=build, now=timezone.now()):
                    self.stdout.write(f"{build.code}: {closed} to be confirmed.")
                if build.plans.exists():
                    refresh(build, timezone.now()) or look_back(build, timezone.now())
            except Refused as refused:
                self.stderr.write(f"{build.code}: {refused}")
            except OperationalError as busy:  # the database is locked or away: the next round tries again
                self.stderr.write(f"{build.code}: {busy}")
