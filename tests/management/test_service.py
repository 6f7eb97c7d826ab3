"""`serve --print-service`: the unit names the real paths, and systemd can read it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

from buildlog.management import service

needs_systemd = pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="systemd is not installed here")


def lines(unit: str, name: str) -> list[str]:
    return [line.partition("=")[2] for line in unit.splitlines() if line.startswith(f"{name}=")]


def test_it_starts_this_program_with_the_same_options(capsys):
    call_command("serve", "--print-service", "--port", "8443", "--https")
    unit, how_to = capsys.readouterr()
    (starts,) = lines(unit, "ExecStart")
    assert starts == (
        f'"{sys.executable}" "{settings.BASE_DIR / "manage.py"}" "serve" "--host" "0.0.0.0" "--port" "8443" "--https"'
    )
    assert f'"-{settings.DATA_DIR}"' in lines(unit, "ReadWritePaths")
    assert "systemctl enable --now" in how_to and "systemctl" not in unit


def test_it_keeps_what_was_set_and_shows_no_password():
    around = {"BUILDLOG_DATA": "/srv/ball 2", "DATABASE_URL": "postgres://ball:secret@db/ball", "HOME": "/root"}
    unit = service.unit([], around)
    assert lines(unit, "Environment") == ['"BUILDLOG_DATA=/srv/ball 2"']
    assert "secret" not in unit and lines(unit, "EnvironmentFile") == ["-/etc/buildlog.env"]


def test_what_systemd_would_read_otherwise_is_said_so_that_it_does_not():
    unit = service.unit(["--host", "$HOME"], {"BUILDLOG_DATA": '/srv/50 % "new"\\x'})
    assert lines(unit, "Environment") == [r'"BUILDLOG_DATA=/srv/50 %% \"new\"\\x"']
    assert lines(unit, "ExecStart")[0].endswith('"--host" "$$HOME"')


@needs_systemd
def test_systemd_reads_it(tmp_path: Path):
    unit = tmp_path / "buildlog.service"
    unit.write_text(service.unit(["--port", "8000"], {"BUILDLOG_DATA": "/srv/50 % new"}))
    told = subprocess.run(["systemd-analyze", "verify", "--man=no", unit], capture_output=True, text=True)
    assert [line for line in told.stderr.splitlines() if "buildlog" in line] == []


@needs_systemd
def test_systemd_would_say_what_it_cannot_read(tmp_path: Path):
    unit = tmp_path / "buildlog.service"
    unit.write_text(service.unit([], {}).replace("KillMode=mixed", "KillMode=gentle"))
    told = subprocess.run(["systemd-analyze", "verify", "--man=no", unit], capture_output=True, text=True)
    assert "kill mode" in told.stderr
