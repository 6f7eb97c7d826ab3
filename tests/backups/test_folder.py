"""Which backups are kept, and what is said of them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from buildlog.backups.folder import Backup, BackupState, alone_in, backups_in, file_name, state_of, superfluous
from buildlog.core.errors import Refused

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def made(folder: Path, at: datetime, *, before_update: bool = False, sound: bool = True) -> Path:
    path = folder / file_name(at, before_update=before_update, sound=sound)
    path.touch()
    return path


def after_rotation(folder: Path) -> list[Backup]:
    for each in superfluous(backups_in(folder)):
        each.path.unlink()
    return backups_in(folder)


def test_a_name_says_all_that_is_known_of_a_backup(tmp_path):
    path = made(tmp_path, NOON, before_update=True, sound=False)
    assert Backup.named(path) == Backup(NOON, before_update=True, sound=False, path=path)


@pytest.mark.parametrize("name", ["notes.txt", "buildlog.zip", "buildlog-20261399-000000.zip", ".lock", "x.zip.part"])
def test_what_else_lies_there_is_left_alone(tmp_path, name):
    (tmp_path / name).touch()
    assert backups_in(tmp_path) == [] and superfluous(backups_in(tmp_path)) == []


def test_twenty_four_hours_and_fourteen_days_are_kept(tmp_path):
    for hours in range(24 * 40):
        made(tmp_path, NOON - timedelta(hours=hours))
        after_rotation(tmp_path) if hours % 24 == 0 else None
    kept = [backup.made_at for backup in after_rotation(tmp_path)]
    assert kept[-24:] == [NOON - timedelta(hours=hours) for hours in reversed(range(24))]
    assert len({at.date() for at in kept}) == 14
    assert NOON - kept[0] < timedelta(days=14)


def test_half_past_counts_for_its_hour_once(tmp_path):
    first, second = made(tmp_path, NOON), made(tmp_path, NOON + timedelta(minutes=40))
    assert [backup.path for backup in after_rotation(tmp_path)] == [second] and not first.exists()


def test_those_before_updates_and_one_unsound_are_kept_beside(tmp_path):
    updates = [made(tmp_path, NOON - timedelta(days=100 + n), before_update=True) for n in range(5)]
    unsound = [made(tmp_path, NOON - timedelta(days=n), sound=False) for n in range(3)]
    good = made(tmp_path, NOON - timedelta(days=200))
    assert {backup.path for backup in after_rotation(tmp_path)} == {good, *updates[:3], unsound[0]}


def test_the_only_good_one_is_kept_however_old(tmp_path):
    good = made(tmp_path, NOON - timedelta(days=900))
    made(tmp_path, NOON, sound=False)
    assert good in [backup.path for backup in after_rotation(tmp_path)]


def test_the_state_speaks_of_the_last_good_and_of_a_later_failure(tmp_path):
    made(tmp_path, NOON - timedelta(hours=5), sound=False)
    made(tmp_path, NOON - timedelta(hours=2))
    assert state_of(tmp_path, tmp_path, NOON) == BackupState(NOON - timedelta(hours=2), None, same_disk=True)
    made(tmp_path, NOON - timedelta(hours=1), sound=False)
    assert state_of(tmp_path, tmp_path, NOON).failed_at == NOON - timedelta(hours=1)


def test_another_file_system_is_another_disk(tmp_path):
    memory = Path("/dev/shm")
    if not memory.is_dir() or memory.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("this machine has one file system only")
    assert not state_of(memory, tmp_path, NOON).same_disk


@pytest.mark.parametrize(
    ("good", "failed", "due", "old"),
    [
        (None, None, True, True),
        (timedelta(minutes=59), None, False, False),
        (timedelta(minutes=60), None, True, False),
        (timedelta(hours=25), timedelta(minutes=5), False, True),  # a failed one is not tried again at once
        (timedelta(hours=24), None, True, False),
    ],
)
def test_one_is_due_every_hour_and_old_after_a_day(good, failed, due, old):
    times = [NOON - ago if ago is not None else None for ago in (good, failed)]
    state = BackupState(*times, same_disk=True)
    assert (state.due(NOON), state.old(NOON)) == (due, old)


def test_backups_of_a_clock_that_was_ahead_count_for_nothing(tmp_path):
    ahead = [made(tmp_path, NOON + timedelta(days=300, hours=hours)) for hours in range(24 * 15)]
    assert state_of(tmp_path, tmp_path, NOON) == BackupState(None, None, same_disk=True)
    now = made(tmp_path, NOON)
    assert not state_of(tmp_path, tmp_path, NOON).due(NOON)
    assert state_of(tmp_path, tmp_path, NOON + timedelta(days=2)).old(NOON + timedelta(days=2))
    gone = [each.path for each in superfluous(backups_in(tmp_path, NOON))]
    assert gone == [] and now.exists() and ahead[0].exists()


def test_two_do_not_make_one_at_once(tmp_path):
    with alone_in(tmp_path), pytest.raises(Refused, match="Another process"), alone_in(tmp_path):
        pass
    with alone_in(tmp_path):
        pass  # free again


def test_a_disk_that_is_not_connected_is_no_folder_to_be_made(tmp_path):
    with pytest.raises(Refused, match="No backup in"), alone_in(tmp_path / "stick" / "backups"):
        pass
    assert not (tmp_path / "stick").exists()
