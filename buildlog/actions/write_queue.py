"""One writer at a time, in a queue. SQLite lets only one in anyway, but those who wait look again at longer and longer
intervals: with many at once the unlucky wait for seconds. A lock lets the next one in at once.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

if sys.platform != "win32":
    import fcntl

_THREADS = threading.Lock()


def write_queue() -> AbstractContextManager[None]:
    """Enter when it is this writer's turn; on a database server, which queues by itself, at once."""
    if connection.vendor != "sqlite" or not transaction.get_autocommit():
        return nullcontext()
    return _queue(Path(f"{settings.DATABASES['default']['NAME']}-turn"))


@contextmanager
def _queue(path: Path) -> Iterator[None]:
    with _THREADS:
        if sys.platform == "win32":  # the workers of one process still queue
            yield
            return
        with path.open("a") as held:  # closing it lets go of the lock, and so does a process that is killed
            fcntl.flock(held, fcntl.LOCK_EX)
            yield
