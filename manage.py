#!/usr/bin/env python3
"""The command line of buildlog: `python manage.py help` lists the commands."""

import os
import sys

if sys.version_info < (3, 11):  # noqa: UP036 - the sentence is for the person with an older Python
    sys.exit(f"buildlog needs Python 3.11 or newer; this is Python {sys.version.split()[0]}.")


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not installed here. Run `make setup`, then `.venv/bin/python manage.py …`.")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
