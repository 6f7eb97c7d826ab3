"""The process beside the app: begun again when it dies, and gone when the app goes."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable

from buildlog.management.beside import Beside

SLEEPER = [sys.executable, "-c", "import time; time.sleep(60)"]


def until(true: Callable[[], object], seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_one_that_is_killed_is_begun_again_and_it_is_said(capfd):
    beside = Beside(SLEEPER, pause_s=0.05)
    try:
        for _ in range(2):
            first = beside.pid
            os.kill(first, signal.SIGKILL)
            until(lambda: beside.pid != first)  # noqa: B023
            assert alive(beside.pid)
    finally:
        beside.end()
    assert "ended by itself (-9) and is begun again" in capfd.readouterr().err


def test_told_to_end_it_is_gone_and_does_not_come_back():
    beside = Beside(SLEEPER, pause_s=0.05)
    last = beside.pid
    beside.end()
    assert not alive(last)
    time.sleep(0.3)
    assert beside.pid == last


def test_one_that_dies_just_then_does_not_come_back_either():
    beside = Beside(SLEEPER, pause_s=0.2)
    last = beside.pid
    os.kill(last, signal.SIGKILL)
    until(lambda: not alive(last))
    beside.end()
    time.sleep(0.5)
    assert beside.pid == last


def test_one_that_will_not_end_is_killed(capfd):
    stubborn = (
        "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(1, flush=True); time.sleep(60)"
    )
    beside = Beside([sys.executable, "-c", stubborn], pause_s=0.05)
    until(lambda: capfd.readouterr().out)
    beside.end(patience_s=0.2)
    assert not alive(beside.pid)
