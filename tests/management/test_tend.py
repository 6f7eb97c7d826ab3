"""`tend` beside the app: told to stop in the middle of a forecast it gives the claim back."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from datetime import timedelta

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection

from buildlog.actions import forecasts
from buildlog.core.errors import Problem
from buildlog.management.commands import tend
from buildlog.models import Build, Claim
from tests.floor.workday import address_of_test_database
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
    out, _ = at_work.communicate(timeout=120)
    assert out == "given back\n" and at_work.returncode == 0


def test_a_claim_is_given_back_whatever_ends_the_work(shed):
    with pytest.raises(SystemExit), forecasts.claimed(shed, MONDAY) as mine:
        assert mine
        sys.exit(0)
    assert Claim.objects.get(build=shed).claimed_at is None


CLAIMER = """
import sys, django
django.setup()
from django.utils import timezone
from buildlog.actions import forecasts
from buildlog.models import Build
with forecasts.claimed(Build.objects.get(), timezone.now()) as mine:
    print(mine, flush=True)
    sys.stdin.read()
"""


@pytest.mark.django_db(transaction=True)
def test_the_claim_of_one_that_is_killed_in_the_middle_of_a_forecast_runs_out(shed):
    at_test_database = {"DATABASE_URL": address_of_test_database(), "BUILDLOG_DATA": str(settings.DATA_DIR)}
    killed = subprocess.Popen(
        [sys.executable, "-c", CLAIMER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env=os.environ | at_test_database | {"DJANGO_SETTINGS_MODULE": "buildlog.settings"},
    )  # fmt: skip
    assert killed.stdout.readline() == "True\n"
    killed.kill()
    killed.communicate()
    at = Claim.objects.get(build=shed).claimed_at
    with forecasts.claimed(shed, at + timedelta(seconds=1)) as mine:
        assert not mine, "it may still be at it"
    with forecasts.claimed(shed, at + forecasts.LONGEST + timedelta(seconds=1)) as mine:
        assert mine
    assert Claim.objects.get(build=shed).claimed_at is None


def test_one_round_of_every_build_goes_on_when_one_of_them_refuses(shed, monkeypatch, capsys):
    def refuse(build, now):
        raise tend.Refused(Problem("No."))

    monkeypatch.setattr(tend, "refresh", refuse)
    call_command("tend", "--once")
    assert "SHED: No." in capsys.readouterr().err


@pytest.fixture
def loft(outsider):
    return outsider.build


def test_a_build_on_which_the_program_fails_rests_and_the_others_are_looked_after(shed, loft, monkeypatch, capsys):
    tried = []

    def fail(build, now):
        tried.append(build.code)
        if build.code == "LOFT":
            raise ZeroDivisionError
        return True

    answers = iter([True, None, None])
    monkeypatch.setattr(tend, "refresh", fail)
    monkeypatch.setattr(tend, "answer_next", lambda build, now: next(answers))
    call_command("tend", "--once")
    assert tried == ["LOFT", "SHED", "SHED"], "LOFT, the first by name, rests in the second round"
    assert "LOFT: The program failed on it (ZeroDivisionError) and tries again in 60 s." in capsys.readouterr().err


def test_what_lasts_is_said_once(shed, monkeypatch, capsys):
    def refuse(build, now):
        raise tend.Refused(Problem("No."))

    monkeypatch.setattr(tend, "refresh", refuse)
    command = tend.Command()
    rounds = iter([True, True, False])
    one_round = command._round
    monkeypatch.setattr(command, "_round", lambda: [one_round(), next(rounds)][1])
    call_command(command, "--once")
    assert capsys.readouterr().err.count("SHED: No.") == 1


def test_while_the_database_is_away_it_waits(shed, monkeypatch, capsys):
    def away():
        raise OperationalError("the database is away")

    with monkeypatch.context() as without:
        without.setattr(Build.objects, "all", away)
        call_command("tend", "--once")
    assert "The database: the database is away" in capsys.readouterr().err


@pytest.mark.skipif(connection.vendor != "postgresql", reason="a file has no connection that breaks")
@pytest.mark.django_db(transaction=True)
def test_a_connection_that_broke_is_opened_again(shed, monkeypatch):
    looked_at = []
    monkeypatch.setattr(tend, "refresh", lambda build, now: looked_at.append(build.code) or True)
    with pytest.raises(OperationalError), connection.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(pg_backend_pid())")
    call_command("tend", "--once")
    assert looked_at == ["SHED"]
