"""Times as people read them off the wall, made into instants: the missing hour refused, the doubled one chosen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _


@dataclass(frozen=True, slots=True)
class LocalTime:
    """A reading of the build's clock; ``fold`` 0 = the first, 1 = the second time in the doubled hour, None = unsaid.

    A reading with an offset of its own is an instant already.
    """

    read: datetime
    fold: int | None = None

    def instant(self, zone: ZoneInfo, field: str = "") -> datetime:
        """The instant in UTC. Raises Refused for a time that does not exist, or comes twice and nobody said which.

        >>> LocalTime(datetime(2026, 10, 25, 2, 30), fold=1).instant(ZoneInfo("Europe/Oslo")).isoformat()
        '2026-10-25T01:30:00+00:00'
        """
        if self.read.tzinfo is not None:
            return self.read.astimezone(UTC)
        first, second = (self.read.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
        if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != self.read:
            raise Refused(
                Problem(
                    _("{time} does not exist in {zone}: the clocks skip it on that day."),
                    field,
                    time=self,
                    zone=zone.key,
                )
            )
        if self.fold is None and first.utcoffset() != second.utcoffset():
            raise Refused(
                Problem(
                    _("{time} comes twice in {zone}: say whether the first or the second."),
                    field,
                    time=self,
                    zone=zone.key,
                )
            )
        return (second if self.fold else first).astimezone(UTC)

    def __str__(self) -> str:
        return f"{self.read:%Y-%m-%d %H:%M}"
