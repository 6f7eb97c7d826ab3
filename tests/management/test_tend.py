"""`tend` beside the app: told to stop in the middle of a forecast it gives the claim back."""

from __future__ import annotations

import signal
import subprocess
import sys

import pytest
from django.core.management import call_command

from buildlog.actions import outlooks
from buildlog.management.commands import tend
from buildlog.models import Claim
from tests.people import MONDAY

WAITER = """
import time
from buildlog.management.commands.tend import leave_in_order
leave_in_order()
try:
    print("working", flush=True)
    time.sleep(60)
finally:
    print("given back", flush=True)
"""


@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGINT])
def test_what_has_to_be_given_back_is_given_back_when_told_to_stop(told):
    at_work = subprocess.Popen(
        [sys.executable, "-c", f"import django; django.setup()\n{WAITER}"], stdout=subprocess.PIPE, text=True
    )
    assert at_work.stdout.readline() == "working\n"
    at_work.send_signal(told)
    out, _ = at_work.communicate(timeout=30)
    assert out == "given back\n" and at_work.returncode == 0


def test_a_claim_is_given_back_whatever_ends_the_work(shed):
    with pytest.raises(SystemExit), outlooks.claimed(shed, MONDAY) as mine:
        assert mine
        sys.exit(0)
    assert Claim.objects.get(build=shed).claimed_at is None


def test_one_round_of_every_build_goes_on_when_one_of_them_refuses(shed, monkeypatch, capsys):
    def refuse(build, now):
        raise tend.Refused("No.")

    monkeypatch.setattr(tend, "refresh", refuse)
    call_command("tend", "--once")
    assert "SHED: No." in capsys.readouterr().err
