"""A PostgreSQL database as PostgreSQL's own tools dump and restore it."""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
from psycopg import sql

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

FILE = "database.dump"
TOOLS = ("pg_dump", "pg_restore")
LONGEST_S = 1800


def tools_are_there() -> bool:
    return all(shutil.which(tool) for tool in TOOLS)


def copy(database: dict[str, Any], folder: Path) -> Path:
    """A dump as of one moment. Raises Refused in the tool's own words, as when it is older than the server."""
    target = folder / FILE
    _run("pg_dump", database, "--format=custom", "--no-owner", "--no-privileges", f"--file={target}")
    return target


def put(folder: Path, database: dict[str, Any]) -> None:
    """The dump into the database that the settings name. Raises Refused when that has tables already."""
    with _connected(database) as connection:
        tables = connection.execute("SELECT COUNT(*) FROM pg_tables WHERE schemaname = 'public'").fetchone()
    if tables != (0,):
        raise Refused(
            Problem(_("The database {name} has tables: restore only into an empty one."), name=database["NAME"])
        )
    _run("pg_restore", database, "--no-owner", "--exit-on-error", "--single-transaction", str(folder / FILE))


@contextmanager
def rehearsal_database(database: dict[str, Any]) -> Iterator[str | None]:
    """The address of a database that is dropped afterwards; None where the role may not create any."""
    name = f"buildlog_rehearsal_{secrets.token_hex(4)}"
    with _connected(database) as connection:
        may = connection.execute("SELECT rolcreatedb OR rolsuper FROM pg_roles WHERE rolname = current_user").fetchone()
        if may != (True,):
            yield None
            return
        connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            yield address(database | {"NAME": name})
        finally:
            connection.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def address(database: dict[str, Any]) -> str:
    """As DATABASE_URL has it."""
    user, password, host, port, name = (
        quote(str(database[key] or ""), safe="") for key in ("USER", "PASSWORD", "HOST", "PORT", "NAME")
    )
    options = "&".join(f"{key}={quote(str(value))}" for key, value in _plain_options(database).items())
    return f"postgres://{user}:{password}@{host}{':' * bool(port)}{port}/{name}{'?' * bool(options)}{options}"


def _plain_options(database: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in database.get("OPTIONS", {}).items() if isinstance(value, str | int)}


def _connected(database: dict[str, Any]) -> psycopg.Connection[tuple[Any, ...]]:
    try:
        return psycopg.connect(address(database), autocommit=True)
    except psycopg.Error as wrong:
        raise Refused(
            Problem(_("PostgreSQL cannot be reached: {reason}"), reason=" ".join(str(wrong).split()))
        ) from wrong


def _run(tool: str, database: dict[str, Any], *arguments: str) -> None:
    """The password goes by the environment: a command line can be read by everybody on the machine."""
    place = address(database | {"PASSWORD": ""})
    environment = os.environ | {"PGPASSWORD": str(database["PASSWORD"] or "")}
    try:
        done = subprocess.run(
            [tool, *arguments, f"--dbname={place}"], env=environment, capture_output=True, text=True, timeout=LONGEST_S
        )
    except (OSError, subprocess.TimeoutExpired) as wrong:
        raise Refused(Problem(_("{tool} could not be run: {reason}."), tool=tool, reason=wrong)) from wrong
    if done.returncode:
        raise Refused(Problem(_("{tool} refused: {reason}"), tool=tool, reason=" ".join(done.stderr.split())))
