"""Before the site is served: is this the data it was served from, with its secrets, sound, and served once?"""

from __future__ import annotations

import stat
import subprocess
import sys
import uuid
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from buildlog.management import start
from buildlog.models import Installation

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def remembered(tmp_path) -> Path:
    return tmp_path / "served.json"


def served(remembered: Path, *, empty: bool = False, new_secrets: bool = False) -> None:
    start.refuse_other_data(empty=empty, new_secrets=new_secrets, remembered=remembered)


@pytest.mark.django_db
def test_the_same_database_starts_again_and_again(remembered):
    served(remembered)
    served(remembered)
    assert Installation.objects.count() == 1


@pytest.mark.django_db
def test_an_empty_database_where_one_was_is_refused_until_it_is_wanted(remembered):
    served(remembered)
    Installation.objects.all().delete()  # as in a folder whose disk is not connected, after `migrate`
    with pytest.raises(CommandError, match="is not the database that was served from there before.*--accept-empty"):
        served(remembered)
    assert not Installation.objects.exists(), "it would pass the second time"
    served(remembered, empty=True)
    served(remembered)


@pytest.mark.django_db
def test_another_database_is_refused_as_well(remembered):
    served(remembered)
    Installation.objects.update(id=uuid.uuid4())
    with pytest.raises(CommandError, match="--accept-empty"):
        served(remembered)


@pytest.mark.django_db
def test_a_database_without_its_secrets_is_refused_until_that_is_wanted(remembered, settings):
    served(remembered)
    settings.PIN_PEPPER = "another " * 8
    with pytest.raises(CommandError, match="Put secret-key and pin-pepper back.*--accept-new-secrets"):
        served(remembered)
    served(remembered, new_secrets=True)
    served(remembered)


@pytest.mark.django_db
@pytest.mark.parametrize("content", ["", "[", "[1]", "3"])
def test_a_bent_memory_keeps_nobody_from_starting(remembered, content):
    remembered.write_text(content)
    served(remembered)
    assert Installation.objects.count() == 1


def test_a_second_one_on_the_same_folder_is_refused(tmp_path):
    another = pytest.raises(CommandError, match=f"Another `serve` is running on {tmp_path}")
    with start.alone_on(tmp_path), another, start.alone_on(tmp_path):
        pass
    with start.alone_on(tmp_path):
        pass  # free again


def test_a_folder_that_cannot_be_written_is_refused(tmp_path):
    (tmp_path / "data").touch()  # nothing can be made in it, also not by root
    with pytest.raises(CommandError, match="cannot be written"), start.alone_on(tmp_path / "data"):
        pass


def test_the_lock_goes_with_the_process_however_it_ends(tmp_path):
    holder = subprocess.Popen(
        [sys.executable, "-c", "import django; django.setup()\n"
         "from pathlib import Path; from buildlog.management.start import alone_on; import sys\n"
         f"with alone_on(Path({str(tmp_path)!r})): print('held', flush=True); sys.stdin.read()"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(CommandError), start.alone_on(tmp_path):
        pass
    holder.kill()
    holder.communicate()
    with start.alone_on(tmp_path):
        pass


@pytest.mark.skipif(connection.vendor != "sqlite", reason="what happens to a file")
@pytest.mark.parametrize("content", [b"no database at all " * 300, b"SQLite format 3\0" + b"\xff" * 8000])
def test_a_file_that_is_no_database_is_refused_with_what_to_do(tmp_path, monkeypatch, content):
    file = tmp_path / "buildlog.sqlite3"
    file.write_bytes(content)
    monkeypatch.setitem(connection.settings_dict, "NAME", str(file))
    with pytest.raises(CommandError, match=f"{file} is damaged: .*restore FILE"):
        start.refuse_damage()
    with pytest.raises(CommandError, match=f"{file} is damaged"):
        call_command("migrate", verbosity=0)
    assert file.read_bytes() == content


@pytest.mark.skipif(sys.platform == "win32", reason="rights of files are the system's own there")
def test_folder_and_database_are_closed_to_others_also_when_they_were_open(tmp_path):
    folder, file = tmp_path / "data", tmp_path / "data" / "buildlog.sqlite3"
    folder.mkdir(mode=0o755)
    file.touch(mode=0o644)
    start.close_to_others(folder, file, tmp_path / "missing")
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700 and stat.S_IMODE(file.stat().st_mode) == 0o600
