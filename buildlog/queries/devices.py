"""Devices as the lead sees them, and who may come in on one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from buildlog.models import Build, Device, Person, PinTry

LATELY = timedelta(days=7)


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
    lately = sorted((one for one in people if one.pk in order), key=lambda one: order.index(one.pk))
    return PeopleOn(tuple(lately), tuple(one for one in people if one.pk not in order))
