#!/usr/bin/env python3
"""The command line of buildlog: `python manage.py help` lists the commands.

On a bare Python it makes `.venv` first, installs what the program needs, and goes on inside."""

import os
import sys

if sys.version_info < (3, 11):  # noqa: UP036 - the sentence is for the person with an older Python
    sys.exit(f"buildlog needs Python 3.11 or newer; this is Python {sys.version.split()[0]}.")


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        from buildlog.install import go_on_inside

        go_on_inside(sys.argv)
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
