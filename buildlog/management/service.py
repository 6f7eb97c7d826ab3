"""`serve --print-service`: a systemd unit with the real paths, for a machine that serves the site whenever it runs.

The format: man pages systemd.service(5), systemd.exec(5), systemd.syntax(7).
"""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from django.conf import settings
from django.db import connection

ENVIRONMENT_FILE = "/etc/buildlog.env"
STOP_WITHIN_S = 90  # longer than requests, the forecast in hand and its process are waited for
HOW_TO = f"""\
Keep it as /etc/systemd/system/buildlog.service, then: systemctl daemon-reload; systemctl enable --now buildlog
What the unit may not show (DATABASE_URL with its password) belongs in {ENVIRONMENT_FILE}, readable by root alone."""


def unit(options: Sequence[str], environment: Mapping[str, str] = os.environ) -> str:
    """The unit that starts `serve` with these options as the same person, in the same environment."""
    manage = Path(settings.BASE_DIR) / "manage.py"
    ours = {name: value for name, value in sorted(environment.items()) if name.startswith("BUILDLOG_")}
    lines = [
        "[Unit]",
        "Description=buildlog: plans and runs a build",
        "Wants=network-online.target",
        "After=network-online.target postgresql.service",
        "",
        "[Service]",
        "Type=exec",
        f"User={getpass.getuser()}",
        f"WorkingDirectory={_plain(str(settings.BASE_DIR))}",
        *(f"Environment={_quoted(f'{name}={value}')}" for name, value in ours.items()),
        f"EnvironmentFile=-{ENVIRONMENT_FILE}",
        f"ExecStart={' '.join(map(_argument, [sys.executable, str(manage), 'serve', *options]))}",
        "# What was begun is answered first; the process beside the app is ended by serve itself.",
        "KillMode=mixed",
        f"TimeoutStopSec={STOP_WITHIN_S}",
        "Restart=on-failure",
        "RestartSec=5",
        "UMask=0077",
        "NoNewPrivileges=yes",
        "PrivateTmp=yes",
        "ProtectSystem=strict",
        *(f"ReadWritePaths={_quoted(f'-{path}')}" for path in written_to()),
        "",
        "[Install]",
        "WantedBy=multi-user.target",
    ]
    return "\n".join(lines) + "\n"


def written_to() -> list[Path]:
    """The folders that the app writes to: data, backups, database, and its own for compiled trials."""
    folders = [settings.DATA_DIR, settings.BACKUP_DIR, Path(settings.BASE_DIR)]
    if connection.vendor == "sqlite":
        folders.append(Path(connection.settings_dict["NAME"]).parent)
    return list(dict.fromkeys(folders))


def _plain(text: str) -> str:
    """To the end of the line: only specifiers are told apart."""
    return text.replace("%", "%%")


def _quoted(text: str) -> str:
    inner = _plain(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{inner}"'


def _argument(text: str) -> str:
    return _quoted(text).replace("$", "$$")
