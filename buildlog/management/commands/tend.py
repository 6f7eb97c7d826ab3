"""`tend`: closes forgotten stints, keeps forecasts fresh and answers what is asked of them, again and again.

`serve` starts it beside the app. It lasts for weeks, so nothing that goes wrong with one build, or with the database
for a while, may end it.
"""

from __future__ import annotations

import logging
import os
import signal
import sys
import time
from typing import Any

from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError, close_old_connections, transaction
from django.utils import timezone

from buildlog.actions import stints
from buildlog.answering import answer_next
from buildlog.away import GONE, file_is_gone, is_away
from buildlog.backups.folder import state
from buildlog.backups.making import back_up
from buildlog.core.errors import Refused
from buildlog.forecasting import look_back, refresh
from buildlog.management.asking import Asking
from buildlog.management.options import OptionParser
from buildlog.models import Build

BACKUP_RESTS_S = 300.0  # after one that failed
REST_S = 60.0  # of a build on which the program failed: it would fail again at once
log = logging.getLogger(__name__)


def leave_in_order() -> None:
    """Told to stop in the middle of a forecast, give its claim back first: the next start would wait for it."""
    for told in (signal.SIGINT, signal.SIGTERM):
        signal.signal(told, lambda *_: sys.exit(0))


def yield_to_the_app() -> None:
    """Ticks come first: lower the priority where the system has one."""
    if hasattr(os, "nice"):
        os.nice(10)


class Command(Asking):
    help = "Close forgotten stints, keep forecasts fresh and answer what is asked of them, until stopped."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--every", type=float, default=5, metavar="S", help="seconds between rounds (5)")
        parser.add_argument("--once", action="store_true", help="end when nothing waits to be answered")
        parser.add_argument("--beside", type=int, metavar="PID", help="end when this process has ended")

    def answer(self, *, every: float, once: bool, beside: int | None, **rest: Any) -> None:
        self._backup_rests = 0.0  # until when none is tried
        self._rests: dict[int, float] = {}  # by build: until when
        self._said: dict[str, str] = {}
        if beside is not None:
            leave_in_order()
            yield_to_the_app()
        while True:
            if beside is not None:
                self._back_up()
            busy = self._round()
            if once and not busy:
                return
            time.sleep(0 if busy else every)
            if beside is not None and os.getppid() != beside:
                return

    def _back_up(self) -> None:
        """Once an hour. What goes wrong with it is said, and tried again some minutes later."""
        now, wrong = timezone.now(), ""
        if time.monotonic() < self._backup_rests or not state(now).due(now):
            return
        try:
            back_up(settings.BACKUP_DIR, now)
        except (Refused, OSError, DatabaseError) as why:
            wrong, self._backup_rests = str(why), time.monotonic() + BACKUP_RESTS_S
        self._say("The backup", wrong)

    def _round(self) -> bool:
        """One look at each build; True when a question was answered: more may wait."""
        try:
            if transaction.get_autocommit():  # otherwise it belongs to the caller
                close_old_connections()  # one that broke is opened again
            awake = [build for build in Build.objects.all() if self._rests.get(build.pk, 0.0) <= time.monotonic()]
            if file_is_gone():
                raise OperationalError(GONE)
        except (DatabaseError, InterfaceError) as away:  # the next round tries again
            if not is_away(away):
                raise
            self._say("The database", str(away))
            return False
        return any([self._look_after(build) for build in awake])

    def _look_after(self, build: Build) -> bool:
        wrong, answered = "", False
        try:
            if closed := stints.close_forgotten(build=build, now=timezone.now()):
                self.stdout.write(f"{build.code}: {closed} to be confirmed.")
            if build.plans.exists():
                refresh(build, timezone.now()) or look_back(build, timezone.now())
                answered = answer_next(build, timezone.now()) is not None
        except Refused as why:
            wrong = str(why)
        except Exception as fault:
            if is_away(fault):
                wrong = str(fault)
            else:
                log.exception("%s could not be looked after.", build.code)
                self._rests[build.pk] = time.monotonic() + REST_S
                wrong = f"The program failed on it ({type(fault).__name__}) and tries again in {REST_S:.0f} s."
        self._say(build.code, wrong)
        return answered

    def _say(self, about: str, wrong: str) -> None:
        """Once, however many rounds it lasts."""
        if wrong and self._said.get(about) != wrong:
            self.stderr.write(f"{about}: {wrong}")
        self._said[about] = wrong
