"""Devices as the lead sees them, and who may come in on one."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, F, Q, QuerySet

from buildlog.core.pins import LONGEST_SPAN, Lock, lock_of
from buildlog.core.work.handload import hours
from buildlog.models import Build, Device, Person, PinTry

LATELY = timedelta(days=7)
QUIET = timedelta(minutes=15)
CLOCK_MAY_BE_OFF_S = 120


@dataclass(frozen=True, slots=True)
class PeopleOn:
    """Whom a device offers: who used it lately first, then everybody else by name."""

    lately: tuple[Person, ...]
    others: tuple[Person, ...]


def people_on(build: Build, device: Device, now: datetime) -> PeopleOn:
    """Everybody who comes in with a PIN (two queries)."""
    people = list(build.people.active().exclude(role=Person.Role.LEAD))
    tries = PinTry.objects.filter(device=device, right=True, at__gt=now - LATELY).order_by("-at")
    order = list(dict.fromkeys(tries.values_list("person_id", flat=True)))
    lately = sorted((person for person in people if person.pk in order), key=lambda person: order.index(person.pk))
    return PeopleOn(tuple(lately), tuple(person for person in people if person.pk not in order))


@dataclass(frozen=True, slots=True)
class DeviceRow:
    """One device as the lead sees it; ``missing`` numbers of its own row of entries never arrived, and so many entries
    came with a number far ``beyond`` that row."""

    device: Device
    missing: int
    beyond: int
    lock: Lock | None
    now: datetime

    @property
    def silent(self) -> bool:
        """Does it hold entries, and has not been heard of for a while?"""
        seen = self.device.last_seen_at or self.device.enrolled_at
        return self.device.waiting > 0 and self.now - seen > QUIET

    @property
    def clock(self) -> str:
        """How far its clock is off, if that matters."""
        off = self.device.clock_offset_s
        if off is None or abs(off) <= CLOCK_MAY_BE_OFF_S:
            return ""
        return f"{hours(abs(off) / 3600)} {'ahead' if off > 0 else 'behind'}"

    @property
    def needs_a_look(self) -> bool:
        return bool(self.missing or self.beyond or self.clock or self.silent or self.lock)


def devices_of(build: Build, now: datetime) -> tuple[list[DeviceRow], list[Device]]:
    """Devices in use, and those shut out (two queries, and one for each that sent what could not be read)."""
    arrived = Count("arrivals__sequence", distinct=True, filter=Q(arrivals__sequence__lte=F("last_sequence")))
    beyond = Count("arrivals", filter=Q(arrivals__sequence__gt=F("last_sequence")))
    counted: QuerySet[Device] = build.devices.all()
    devices = list(counted.annotate(arrived=arrived, beyond=beyond))
    wrong: dict[object, list[datetime]] = defaultdict(list)
    tries = PinTry.objects.filter(device__build=build, right=False, forgiven=False, at__gt=now - LONGEST_SPAN)
    for pk, at in tries.values_list("device_id", "at"):
        wrong[pk].append(at)
    rows = [
        DeviceRow(
            device=device,
            missing=max(0, device.last_sequence - device.arrived - _unread(device)),
            beyond=device.beyond,
            lock=lock_of(wrong[device.pk], now),
            now=now,
        )
        for device in devices
        if device.revoked_at is None
    ]
    rows.sort(key=lambda row: (not row.needs_a_look, row.device.name))
    return rows, [device for device in devices if device.revoked_at is not None]


def _unread(device: Device) -> int:
    """Numbers that came with nothing but entries that could not be read."""
    if not device.unread:
        return 0
    arrived = device.arrivals.filter(sequence__in=device.unread).values_list("sequence", flat=True)
    return len(set(device.unread) - set(arrived))
