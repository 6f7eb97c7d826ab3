"""What every command shares: a refusal is a line on stderr for each problem and exit 1, never a traceback."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import StringIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, InterfaceError

from buildlog.away import is_away, is_damage
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.management.options import OptionsCommand
from buildlog.models import Build
from buildlog.words import say


class Asking(OptionsCommand):
    """A command that answers or refuses; write ``answer`` instead of ``handle``."""

    requires_system_checks = ()
    source = ""

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            _refuse_nul(options)
            self.answer(**options)
        except (DatabaseError, InterfaceError) as wrong:
            self.stderr.write(_what_to_do(wrong))
            sys.exit(1)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(f"{self.source}: {say(problem)}" if self.source else say(problem))
            sys.exit(1)

    answer: Callable[..., None]  # each command with its own options

    @contextmanager
    def about(self, file: Path | str) -> Iterator[None]:
        """Name this file in what is refused inside."""
        self.source = str(file)
        yield
        self.source = ""


def _refuse_nul(options: Mapping[str, Any]) -> None:
    """A database may not take the character; only a caller in Python can hand it over."""
    problems = [
        Problem(_("It holds a NUL character: leave it out."), f"--{name.replace('_', '-')}")
        for name, value in options.items()
        if isinstance(value, str) and "\0" in value
    ]
    if problems:
        raise Refused(problems)


def _what_to_do(wrong: Exception) -> str:
    """When the database does not take something: it is older than the program, or cannot be used at the moment."""
    try:
        if changes_waiting():
            return f"The tables are older than the program ({wrong}): run `python manage.py migrate` first."
    except (DatabaseError, InterfaceError):
        pass  # it cannot even say how old it is
    if not is_away(wrong):
        raise wrong
    if is_damage(wrong):
        return (
            f"The database is damaged ({wrong}). Keep the file. Set BUILDLOG_DATA to a new, empty folder and run "
            f"`python manage.py restore FILE` with the newest backup in {settings.BACKUP_DIR}."
        )
    return (
        f"The database cannot be used at the moment ({' '.join(str(wrong).split())}): try again. If it lasts, look "
        "whether the disk is full, or whether another program holds it."
    )


def changes_waiting() -> int:
    """How many changes of the program's tables the database has not been given yet."""
    plan = StringIO()
    call_command("showmigrations", "--plan", verbosity=1, stdout=plan)
    return sum(line.startswith("[ ]") for line in plan.getvalue().splitlines())


MOST_BYTES = 512_000_000  # of any file; more comes from a pipe without an end


def content_of(file: Path, most: int = MOST_BYTES) -> bytes:
    """The bytes of a file a person named. Raises Refused when it cannot be read, or there is more than ``most``."""
    try:
        with file.open("rb") as opened:
            content = opened.read(most + 1)
        if len(content) > most:
            raise Refused(Problem(_("The file has more than {most} MB."), most=most // 1_000_000))
        return content
    except OSError as wrong:
        raise Refused(Problem(_("The file cannot be read: {reason}."), reason=wrong.strerror or wrong)) from wrong


def build_called(code: str) -> Build:
    """The build with this code. Raises Refused with the codes that there are."""
    build = Build.objects.filter(code__iexact=code).first()
    if build is None:
        known = ", ".join(Build.objects.values_list("code", flat=True)) or "none yet"
        raise Refused(Problem(_("There is no build {code!r}; there are: {codes}."), "--build", code=code, codes=known))
    return build
