"""Devices of a build: invited, joined, named, shut out."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from django.db import transaction

from buildlog.actions import sign_ins
from buildlog.actions.records import record
from buildlog.core.codes import LETTERS, as_meant
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build, Device, JoinCode, Person

CODE_LENGTH = 8  # 40 bits, good for minutes
CODE_LIVES = timedelta(minutes=10)


@transaction.atomic
def invite(*, build: Build, by: Person | None, now: datetime) -> str:
    """A one-time code for one device, good for ten minutes; returned once and kept only as a digest."""
    code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
    JoinCode.objects.filter(build=build, used_at=None, expires_at__lt=now - timedelta(days=1)).delete()
    JoinCode.objects.create(
        build=build, digest=_digest(build, code), made_by=by, made_at=now, expires_at=now + CODE_LIVES
    )
    return code


def invitation(*, build: Build, code: str, now: datetime) -> JoinCode:
    """The invitation behind a code, if it still stands; refused with a sentence otherwise. Changes nothing."""
    join_code = JoinCode.objects.filter(build=build, digest=_digest(build, code)).first()
    if join_code is None:
        raise Refused(Problem(_("This code is not known here: ask the lead for a new one."), "c"))
    if join_code.used_at is not None:
        raise Refused(Problem(_("This code has let a device in already: each needs its own. Ask the lead."), "c"))
    if now >= join_code.expires_at:
        raise Refused(
            Problem(_("This code was good for ten minutes and has run out: ask the lead for a new one."), "c")
        )
    return join_code


@transaction.atomic
def enrol(*, build: Build, code: str, name: str, now: datetime) -> tuple[Device, str]:
    """Let one device in with its code. Returns it and the key for its cookie, which is kept only as a digest."""
    join_code = invitation(build=build, code=code, now=now)
    join_code = JoinCode.objects.select_for_update().get(pk=join_code.pk)
    if join_code.used_at is not None:
        raise Refused(Problem(_("This code has let a device in already: each needs its own. Ask the lead."), "c"))
    device, key = _let_in(build, name, join_code.made_by, now)
    join_code.used_by, join_code.used_at = device, now
    join_code.save(update_fields=["used_by", "used_at"])
    return device, key


@transaction.atomic
def enrol_here(*, build: Build, by: Person, name: str, now: datetime) -> tuple[Device, str]:
    """A lead makes the browser at hand a device of the build."""
    return _let_in(build, name, by, now)


def next_name(build: Build) -> str:
    """What the next device is called if nobody says otherwise: Tablet 4 after three others."""
    taken = set(build.devices.values_list("name", flat=True))
    number = len(taken) + 1
    while f"Tablet {number}" in taken:
        number += 1
    return f"Tablet {number}"


def _let_in(build: Build, name: str, by: Person | None, now: datetime) -> tuple[Device, str]:
    key = secrets.token_urlsafe(32)
    device = Device.objects.create(
        build=build, name=name.strip()[:60] or next_name(build), key_digest=sha256(key.encode()).hexdigest(),
        enrolled_at=now, last_seen_at=now,
    )  # fmt: skip
    record(build=build, by=by, at=now, verb="device joins", says=f"{device} joined.")
    return device, key


@transaction.atomic
def rename(*, device: Device, name: str, by: Person, now: datetime) -> Device:
    """Give a device the name that stands on its back."""
    name = name.strip()
    if not name:
        raise Refused(Problem(_("A device needs a name: the one that stands on its back."), "name"))
    if name != device.name:
        record(build=device.build, by=by, at=now, verb="rename device", says=f"{device} is now called {name}.")
        device.name = name[:60]
        device.save(update_fields=["name"])
    return device


@transaction.atomic
def revoke(*, device: Device, by: Person, now: datetime) -> Device:
    """Shut a device out: its sign-ins end and what it sends from now on is refused. Twice changes nothing."""
    if device.revoked_at is None:
        device.revoked_at = now
        device.save(update_fields=["revoked_at"])
        sign_ins.end(which=device.sign_ins.all(), now=now)
        record(build=device.build, by=by, at=now, verb="revoke device", says=f"{by} shut out {device}.")
    return device


def _digest(build: Build, code: str) -> str:
    return sha256(f"{build.pk}:{as_meant(code)}".encode()).hexdigest()
