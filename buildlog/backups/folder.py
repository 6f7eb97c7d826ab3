"""The folder with the backups: what their names say, which of them are kept, and how old the last good one is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings
from filelock import FileLock, Timeout

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

HOURLY, DAILY, BEFORE_UPDATES = 24, 14, 3  # how many of each are kept
EVERY = timedelta(hours=1)
AHEAD = timedelta(minutes=1)  # what is later than that was made while the clock was wrong
OLD = timedelta(days=1)
NAME = re.compile(r"buildlog-(\d{8}-\d{6})(-before-update)?(-unsound)?\.zip")
STAMP = "%Y%m%d-%H%M%S"  # in UTC


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """One file of the folder. ``sound`` when restoring it was tried and nothing was wrong."""

    made_at: datetime
    before_update: bool
    sound: bool
    path: Path

    @classmethod
    def named(cls, path: Path) -> Backup | None:
        if not (match := NAME.fullmatch(path.name)):
            return None
        stamp, before_update, unsound = match.groups()
        try:
            made_at = datetime.strptime(stamp, STAMP).replace(tzinfo=UTC)
        except ValueError:
            return None
        return cls(made_at, bool(before_update), not unsound, path)


def file_name(made_at: datetime, *, before_update: bool, sound: bool) -> str:
    stamp = made_at.astimezone(UTC).strftime(STAMP)
    return f"buildlog-{stamp}{'-before-update' * before_update}{'-unsound' * (not sound)}.zip"


def backups_in(folder: Path, now: datetime | None = None) -> list[Backup]:
    """Oldest first; what else lies in the folder is left alone. With ``now`` without those that are later: their time
    says nothing.
    """
    if not folder.is_dir():
        return []
    backups = sorted(backup for path in folder.iterdir() if (backup := Backup.named(path)))
    return [each for each in backups if now is None or each.made_at <= now + AHEAD]


def superfluous(backups: Iterable[Backup]) -> list[Backup]:
    """What goes. Kept are the newest of each of the last 24 hours and 14 days that have one, the last ones before
    updates, and the last unsound one for whoever looks into it."""
    newest_first = sorted(backups, reverse=True)
    usual = [each for each in newest_first if each.sound and not each.before_update]
    kept = {
        *_newest_by(usual, "%Y%m%d%H", HOURLY),
        *_newest_by(usual, "%Y%m%d", DAILY),
        *[each for each in newest_first if each.sound and each.before_update][:BEFORE_UPDATES],
        *[each for each in newest_first if not each.sound][:1],
    }
    return [each for each in newest_first if each not in kept]


def _newest_by(newest_first: Iterable[Backup], span: str, number: int) -> list[Backup]:
    first: dict[str, Backup] = {}
    for backup in newest_first:
        first.setdefault(backup.made_at.strftime(span), backup)
    return list(first.values())[:number]


@dataclass(frozen=True, slots=True)
class BackupState:
    """What the lead is told. ``failed_at`` is the moment of a backup, newer than the last good one, that is unsound."""

    good_at: datetime | None
    failed_at: datetime | None
    same_disk: bool

    def due(self, now: datetime) -> bool:
        last = max(filter(None, (self.good_at, self.failed_at)), default=None)
        return last is None or now - last >= EVERY

    def old(self, now: datetime) -> bool:
        return self.good_at is None or now - self.good_at > OLD


def state_of(folder: Path, data: Path, now: datetime) -> BackupState:
    backups = backups_in(folder, now)
    good = [each.made_at for each in backups if each.sound]
    failed = [each.made_at for each in backups if not each.sound and (not good or each.made_at > good[-1])]
    return BackupState(good[-1] if good else None, failed[-1] if failed else None, _same_disk(folder, data))


def state(now: datetime) -> BackupState:
    """Of this site."""
    return state_of(settings.BACKUP_DIR, settings.DATA_DIR, now)


def _same_disk(folder: Path, data: Path) -> bool:
    """Whether both lie in one file system; two parts of one disk look like two."""
    try:
        return folder.stat().st_dev == data.stat().st_dev
    except OSError:
        return False


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """The folder is made when its parent is there: a disk that is not connected is not a folder to be made.

    Raises Refused when the folder cannot be used, or when another process makes a backup there.
    """
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        with FileLock(folder / ".lock", timeout=0):
            yield
    except Timeout as busy:
        raise Refused(Problem(_("Another process is making a backup in {folder}."), folder=folder)) from busy
    except OSError as wrong:
        raise Refused(
            Problem(_("No backup in {folder}: {reason}."), folder=folder, reason=wrong.strerror or wrong)
        ) from wrong
