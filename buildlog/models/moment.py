"""Several reads that belong together, of one moment."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def at_one_moment() -> Iterator[None]:
    """Inside, the database is read as it is now, whatever others write meanwhile; nothing is written, nobody waits.

    In a transaction that is open already, that one's own rules hold.
    """
    if not transaction.get_autocommit():
        yield
    elif connection.vendor == "sqlite":
        with _deferred():
            yield
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


@contextmanager
def _deferred() -> Iterator[None]:
    """A transaction that only reads; as all others are begun here, it would keep out whoever writes."""
    transaction.set_autocommit(False)
    try:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
        yield
    finally:
        transaction.rollback()
        transaction.set_autocommit(True)
