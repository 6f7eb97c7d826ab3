"""Django's `migrate`, with a backup before it changes a database that holds something."""

from __future__ import annotations

import sys
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.core.management.commands.migrate import Command as Migrate
from django.db import DatabaseError, connection
from django.utils import timezone

from buildlog.backups.making import back_up
from buildlog.core.errors import Refused
from buildlog.management.asking import changes_waiting
from buildlog.management.start import refuse_damage
from buildlog.words import say


class Command(Migrate):
    help = f"{Migrate.help} A database that holds something is backed up first."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--no-backup", action="store_false", dest="backup", help="make no backup first")

    def handle(self, *args: Any, backup: bool = True, **options: Any) -> None:
        refuse_damage()
        if backup and not (options["plan"] or options["check_unapplied"]) and _something_changes():
            self._back_up()
        super().handle(*args, **options)

    def _back_up(self) -> None:
        try:
            made = back_up(settings.BACKUP_DIR, timezone.now(), before_update=True)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(say(problem))
        except DatabaseError as wrong:  # packed by today's models, tables of before lack a column
            self.stderr.write(f"Without PostgreSQL's pg_dump these tables cannot be copied ({wrong}): install it.")
        else:
            self.stdout.write(f"Backup before the update: {made.path}")
            return
        self.stderr.write("Nothing was changed. Fix that, or add --no-backup to go on without one.")
        sys.exit(1)


def _something_changes() -> bool:
    return "buildlog_build" in connection.introspection.table_names() and changes_waiting() > 0
