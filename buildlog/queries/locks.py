"""Who cannot come in just now because of wrong PINs, and on which tablets they were typed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from buildlog.core.pins import LONGEST_SPAN, Lock, lock_of
from buildlog.models import Build, Device, Person, PinTry


@dataclass(frozen=True, slots=True)
class Locked:
    """A person or a device that no PIN is taken from; ``beside`` are the devices, or the people, of the wrong ones."""

    whom: Person | Device
    lock: Lock
    beside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Locks:
    people: tuple[Locked, ...]
    devices: tuple[Locked, ...]

    def __bool__(self) -> bool:
        return bool(self.people or self.devices)


def locks_of(build: Build, now: datetime) -> Locks:
    """Everybody and every device that is locked at this moment (one query)."""
    tries = PinTry.objects.filter(device__build=build, right=False, forgiven=False, at__gt=now - LONGEST_SPAN)
    tries = tries.filter(device__revoked_at=None, person__left_at=None)
    rows = list(tries.select_related("person", "device").order_by("person__name", "device__name"))
    return Locks(
        tuple(_locked([(each.person, each.device, each.at) for each in rows], now)),
        tuple(_locked([(each.device, each.person, each.at) for each in rows], now)),
    )


def _locked(tries: list[tuple[Person | Device, Person | Device, datetime]], now: datetime) -> Iterator[Locked]:
    """Whom among the first ones the tries lock, each with the second ones."""
    by_whom: dict[Person | Device, list[tuple[Person | Device, datetime]]] = defaultdict(list)
    for whom, beside, at in tries:
        by_whom[whom].append((beside, at))
    for whom, made in by_whom.items():
        if lock := lock_of([at for _, at in made], now):
            yield Locked(whom, lock, tuple(sorted({str(beside) for beside, _ in made})))
