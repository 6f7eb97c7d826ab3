"""`tend`: closes forgotten stints, keeps forecasts fresh and answers what is asked of them, again and again.

`serve` starts it beside the app.
"""

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
from buildlog.answering import answer_next
from buildlog.core.errors import Refused
from buildlog.forecasting import look_back, refresh
from buildlog.management.asking import Asking
from buildlog.models import Build


def leave_in_order() -> None:
    """Told to stop in the middle of a forecast, give its claim back first: the next start would wait for it."""
    for told in (signal.SIGINT, signal.SIGTERM):
        signal.signal(told, lambda *_: sys.exit(0))


class Command(Asking):
    help = "Close forgotten stints, keep forecasts fresh and answer what is asked of them, until stopped."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=float, default=5, metavar="S", help="seconds between rounds (5)")
        parser.add_argument("--once", action="store_true", help="end when nothing waits to be answered")
        parser.add_argument("--beside", type=int, metavar="PID", help="end when this process has ended")

    def answer(self, *, every: float, once: bool, beside: int | None, **rest: Any) -> None:
        if beside is not None:
            leave_in_order()
        while True:
            busy = self._round()
            if once and not busy:
                return
            time.sleep(0 if busy else every)
            if beside is not None and os.getppid() != beside:
                return

    def _round(self) -> bool:
        """One look at each build; True when a question was answered: more may wait."""
        answered = False
        for build in Build.objects.all():
            try:
                if closed := stints.close_forgotten(build=build, now=timezone.now()):
                    self.stdout.write(f"{build.code}: {closed} to be confirmed.")
                if build.plans.exists():
                    refresh(build, timezone.now()) or look_back(build, timezone.now())
                    answered |= answer_next(build, timezone.now()) is not None
            except Refused as refused:
                self.stderr.write(f"{build.code}: {refused}")
            except OperationalError as busy:  # the database is locked or away: the next round tries again
                self.stderr.write(f"{build.code}: {busy}")
        return answered
