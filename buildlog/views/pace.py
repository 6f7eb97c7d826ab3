"""How often one device may ask: a limit against a script that runs wild, kept in the memory of each process."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Hashable
from datetime import datetime, timedelta

MOST_KNOWN = 1_000


class RequestPace:
    """At most ``most`` in any ``seconds``, for each one that asks."""

    def __init__(self, most: int, seconds: float) -> None:
        self.most = most
        self.span = timedelta(seconds=seconds)
        self._times: dict[Hashable, deque[datetime]] = {}
        self._lock = threading.Lock()

    def allows(self, who: Hashable, now: datetime) -> bool:
        """Count one request of ``who``, unless it is one too many."""
        with self._lock:
            times = self._times.setdefault(who, deque())
            # A clock that was set back leaves times in the future: those say nothing any more.
            while times and not now - self.span < times[0] <= now:
                times.popleft()
            if len(times) >= self.most:
                return False
            times.append(now)
            self._forget_the_oldest()
            return True

    def _forget_the_oldest(self) -> None:
        if len(self._times) > MOST_KNOWN:
            self._times.pop(next(iter(self._times)))
