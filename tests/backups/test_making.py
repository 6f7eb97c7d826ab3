"""A backup made while people work, tried, and restored on another machine."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import ProgrammingError, connection

from buildlog.backups import making, postgres, sqlite
from buildlog.backups.folder import backups_in, file_name, state_of
from buildlog.backups.making import back_up
from buildlog.core.errors import Refused
from buildlog.management.commands import migrate

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)
pytestmark = pytest.mark.django_db(transaction=True)
on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="what happens to a file")


@pytest.fixture
def folder(tmp_path) -> Path:
    return tmp_path / "backups"


def manage(data: Path, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    ours = ("BUILDLOG_", "DJANGO_", "DATABASE_URL")
    clean = {key: value for key, value in os.environ.items() if not key.startswith(ours)}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=ROOT, env=clean | {"BUILDLOG_DATA": str(data)} | more,
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip


@pytest.fixture
def elsewhere(tmp_path) -> SimpleNamespace:
    """A fresh place: an empty data folder, and with PostgreSQL an empty database."""
    place = SimpleNamespace(data=tmp_path / "elsewhere", more={})
    if connection.vendor == "sqlite":
        yield place
        return
    with postgres.rehearsal_database(connection.settings_dict) as address:
        place.more = {"DATABASE_URL": address}
        yield place


def test_a_backup_restores_database_and_secrets_in_another_place(shed, folder, elsewhere):
    left = folder / f"{making.BESIDE}abc"  # of a backup that was killed
    left.mkdir(parents=True, mode=0o700)
    backup = back_up(folder, NOW)
    assert backups_in(folder) == [backup] and backup.sound
    assert stat.S_IMODE(backup.path.stat().st_mode) == 0o600
    assert {path.name for path in folder.iterdir()} <= {backup.path.name, ".lock"}, "something half done stays"
    restored = manage(elsewhere.data, "restore", str(backup.path), **elsewhere.more)
    assert restored.returncode == 0, restored.stderr
    assert "Restored as of 2026-05-04 12:00 UTC." in restored.stdout and "Builds: SHED. All add up." in restored.stdout
    for secret in ("secret-key", "pin-pepper"):
        assert (elsewhere.data / secret).read_text() == (settings.DATA_DIR / secret).read_text()
        assert stat.S_IMODE((elsewhere.data / secret).stat().st_mode) == 0o600
    again = manage(elsewhere.data, "restore", str(backup.path), **elsewhere.more)
    assert again.returncode == 1 and "restore only into" in again.stderr and "Traceback" not in again.stderr


def test_a_backup_whose_audit_finds_something_is_unsound(shed, folder):
    segment = shed.segments.first()
    shed.segments.filter(pk=segment.pk).update(populated=7)
    with pytest.raises(Refused, match=f"did not pass its check: .*{segment.code}: the ledger adds up to 0 pixels"):
        back_up(folder, NOW)
    (kept,) = backups_in(folder)
    assert not kept.sound
    state = state_of(folder, folder, NOW)
    assert state.good_at is None and state.failed_at == NOW


@on_sqlite
def test_a_bent_page_is_found_and_no_backup_is_made_of_it(shed, folder, monkeypatch, tmp_path):
    bent = tmp_path / "bent.sqlite3"
    sqlite.copy(connection.settings_dict, tmp_path).rename(bent)
    with bent.open("r+b") as file:
        for page in range(2, 200):  # some of them are leaves of tables
            file.seek(page * 4096 + 8)
            file.write(b"\xff" * 64)
    monkeypatch.setitem(connection.settings_dict, "NAME", str(bent))
    with pytest.raises(Refused, match="The database is damaged"):
        back_up(folder, NOW)
    assert backups_in(folder) == []


@on_sqlite
def test_a_copy_is_of_one_moment_while_others_write(shed, folder, tmp_path):
    """SQLite's online backup: https://www.sqlite.org/backup.html; the copy needs no second file."""
    writer = sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("UPDATE buildlog_build SET place = 'half way'")
    copied = sqlite.copy(connection.settings_dict, tmp_path)
    writer.execute("ROLLBACK")
    writer.close()
    reader = sqlite3.connect(copied)
    assert reader.execute("SELECT COUNT(*) FROM buildlog_build WHERE place = 'half way'").fetchone() == (0,)
    assert reader.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    reader.close()


def test_without_room_no_backup_is_made(shed, folder, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda path: SimpleNamespace(free=making.LEAST_FREE))
    with pytest.raises(Refused, match="only 200 MB are free"):
        back_up(folder, NOW)
    assert backups_in(folder) == []


@pytest.mark.skipif(connection.vendor == "sqlite", reason="what happens without PostgreSQL's tools")
def test_without_the_tools_every_build_is_packed(shed, folder, tmp_path, monkeypatch):
    monkeypatch.setattr(postgres.shutil, "which", lambda tool: None)
    backup = back_up(folder, NOW)
    with zipfile.ZipFile(backup.path) as archive:
        assert "packs/SHED.zip" in archive.namelist()
    restored = manage(tmp_path / "new", "restore", str(backup.path))  # into SQLite: packs fit everywhere
    assert "Builds: SHED. All add up." in restored.stdout, restored.stderr


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "damaged, or no backup"),
        (b"PK\x03\x04 and no more", "damaged, or no backup"),
        ({"pack.json": b"{}"}, "This is no backup"),
        ({"backup.json": b"[]"}, "This is no backup"),
        ({"backup.json": b"\xff\xfe"}, "This is no backup"),
        ({"backup.json": b'{"kind": "buildlog backup", "format": 9, "database": "packs"}'}, "a newer program"),
    ],
)
def test_what_is_no_backup_is_refused_in_one_line(tmp_path, capsys, content, words):
    file = tmp_path / "file.zip"
    if isinstance(content, bytes):
        file.write_bytes(content)
    else:
        with zipfile.ZipFile(file, "w") as archive:
            for name, text in content.items():
                archive.writestr(name, text)
    with pytest.raises(SystemExit, match="1"):
        call_command("restore", file)
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"{file}: ") and words in line


@on_sqlite
def test_without_a_database_there_is_nothing_to_copy(folder, monkeypatch, tmp_path, capsys):
    monkeypatch.setitem(connection.settings_dict, "NAME", str(tmp_path / "none.sqlite3"))
    with pytest.raises(SystemExit):
        call_command("backup", out=folder)
    assert "cannot be copied" in capsys.readouterr().err and not (tmp_path / "none.sqlite3").exists()


def test_postgres_that_is_away_is_said_in_a_sentence():
    database = {"USER": "x", "PASSWORD": "", "HOST": "127.0.0.1", "PORT": "1", "NAME": "x"}
    with pytest.raises(Refused, match="PostgreSQL cannot be reached"):
        postgres._connected(database)


def test_tables_that_cannot_be_packed_are_not_changed_without_a_word(shed, folder, settings, monkeypatch, capsys):
    def lacks_a_column(*args, **kwargs):
        raise ProgrammingError("no such column: wiring")

    monkeypatch.setattr(migrate, "changes_waiting", lambda: 1)
    monkeypatch.setattr(migrate, "back_up", lacks_a_column)
    with pytest.raises(SystemExit):
        call_command("migrate", verbosity=0)
    said = capsys.readouterr().err
    assert "pg_dump" in said and "Nothing was changed" in said and "--no-backup" in said


@on_sqlite
def test_names_in_a_file_decide_nothing_of_where_it_is_written(shed, folder, tmp_path):
    backup = back_up(folder, NOW)
    with zipfile.ZipFile(backup.path, "a") as archive:
        archive.writestr("../escaped", "x")
        archive.writestr("secrets/../../escaped", "x")
        archive.writestr("secrets/other", "x")
    restored = manage(tmp_path / "in" / "data", "restore", str(backup.path))
    assert restored.returncode == 0
    assert not list(tmp_path.rglob("escaped")) and not list(tmp_path.rglob("other"))


def test_a_migration_is_preceded_by_a_backup(shed, folder, settings, monkeypatch, capsys):
    settings.BACKUP_DIR = folder
    monkeypatch.setattr(migrate, "changes_waiting", lambda: 1)
    call_command("migrate", verbosity=0)
    (backup,) = backups_in(folder)
    assert backup.before_update and "Backup before the update" in capsys.readouterr().out
    with pytest.raises(SystemExit):
        settings.BACKUP_DIR = folder / "not" / "there"
        call_command("migrate", verbosity=0)
    assert "Nothing was changed" in capsys.readouterr().err
    call_command("migrate", verbosity=0, backup=False)


def test_without_changes_no_backup_is_made(shed, folder, settings):
    settings.BACKUP_DIR = folder
    call_command("migrate", verbosity=0)
    assert backups_in(folder) == []


def test_the_lead_reads_how_old_the_last_good_one_is(shed, folder, settings, sign_in):
    settings.BACKUP_DIR = folder
    folder.mkdir()
    ilse, ago = sign_in(shed.people.get(name="Ilse")), timedelta(minutes=10)
    assert "There is no backup yet" in text(ilse.get("/b/SHED/today/"))
    good = folder / file_name(datetime.now(UTC) - ago, before_update=False, sound=True)
    good.touch()
    assert "backup" not in text(ilse.get("/b/SHED/today/"))
    start = text(ilse.get("/"))
    assert "Last good backup: 10 minutes ago." in start and "on the same disk as the data" in start
    good.rename(folder / file_name(datetime.now(UTC) - 200 * ago, before_update=False, sound=True))
    (folder / file_name(datetime.now(UTC) - ago, before_update=False, sound=False)).touch()
    today = text(ilse.get("/b/SHED/today/"))
    assert "The last good backup is from 1 day, 9 hours ago" in today
    assert "The one made 10 minutes ago did not pass its check." in today


def text(answer) -> str:
    return " ".join(answer.content.decode().replace("\xa0", " ").split())
