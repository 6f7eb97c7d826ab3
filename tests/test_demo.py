"""The demo: an invented build, three weeks in on whatever day it is loaded."""

from __future__ import annotations

import json
import stat
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command

from buildlog import demo
from buildlog.management.commands import demo as command
from buildlog.models import Build
from buildlog.queries.audit import differences

pytestmark = pytest.mark.django_db


@pytest.fixture
def kept(monkeypatch, tmp_path):
    path = tmp_path / "sign-in.json"
    monkeypatch.setattr(command, "KEPT", path)
    return path


def test_the_demo_is_a_whole_build_in_progress_loaded_once(kept, capsys, django_user_model):
    """One test, because loading three weeks of work takes a while."""
    mine = django_user_model.objects.create_superuser(username=demo.read_scenario()["lead"], password="my-own-barn-77")
    call_command("demo")
    said, build = json.loads(kept.read_text()), Build.objects.get()
    _signs_in(said, kept)
    _is_three_weeks_in(build)
    mine.refresh_from_db()
    assert mine.check_password("my-own-barn-77") and not build.people.filter(user=mine).exists(), (
        "a namesake is left be"
    )
    capsys.readouterr()
    call_command("demo")
    again = capsys.readouterr().out
    assert said["password"] in again and said["pin"] in again and Build.objects.count() == 1


def _signs_in(said, kept):
    assert authenticate(username=said["lead"], password=said["password"]) is not None
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def _is_three_weeks_in(build):
    assert 12_000 <= sum(build.segments.current().values_list("pixels", flat=True)) <= 25_000
    assert 6 <= build.people.filter(role="helper").count() <= 9
    assert differences(build) == []
    newest, oldest = build.entries.order_by("-at").first().at, build.entries.order_by("at").first().at
    assert timedelta(days=14) < newest - oldest < timedelta(days=22)
    assert build.segments.current().filter(assigned_to__isnull=False).exists()
    assert build.target_at > newest and build.created_at < oldest


@pytest.mark.parametrize("day", [datetime(2026, 3, 29, 12, tzinfo=UTC), datetime(2026, 10, 25, 12, tzinfo=UTC)])
def test_no_shift_of_the_demo_falls_into_an_hour_that_a_clock_change_takes_or_doubles(day):
    """Europe/Dublin 2026 (IANA time zone database): 29 March and 25 October."""
    zone = ZoneInfo(demo.read_scenario()["time_zone"])
    assert len(list(demo._shifts(day.date(), zone))) > 50
    assert len(list(demo._stints(day.date(), zone))) > 300
