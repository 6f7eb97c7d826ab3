"""Tablets and phones that joined a build, what they send, and the tries at a PIN made on them."""

from __future__ import annotations

import uuid
from typing import Any

from django.db import models

from buildlog.models.build import Build
from buildlog.models.document import DocumentField
from buildlog.models.people import Person


class DeviceQuerySet(models.QuerySet["Device"]):
    def trusted(self) -> DeviceQuerySet:
        return self.filter(revoked_at__isnull=True)


class Device(models.Model):
    """One browser on one tablet. It proves itself with a long-lived cookie whose digest is kept here."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="devices")
    name = models.CharField(max_length=60)
    key_digest = models.CharField(max_length=64, unique=True)
    enrolled_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)
    last_sequence = models.PositiveBigIntegerField(default=0)  # the highest that arrived
    # Numbers of entries that came but could not be read.
    unread: Any = DocumentField(holds=list[int], default=list, blank=True)
    waiting = models.PositiveIntegerField(default=0)  # entries it said it still held
    oldest_waiting_at = models.DateTimeField(null=True, blank=True)
    clock_offset_s = models.FloatField(null=True, blank=True)  # device clock minus server clock

    objects = DeviceQuerySet.as_manager()

    class Meta:
        ordering = ["name", "enrolled_at"]

    def __str__(self) -> str:
        return self.name


class JoinCode(models.Model):
    """A one-time code that lets one device join, for a few minutes."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="join_codes")
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_by = models.OneToOneField(Device, on_delete=models.SET_NULL, null=True, blank=True, related_name="code")
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"join code for {self.build}"


class PinTry(models.Model):
    """One try at somebody's PIN on a device; counted per person and per device, never by address."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="pin_tries")
    device = models.ForeignKey(Device, on_delete=models.CASCADE, related_name="pin_tries")
    at = models.DateTimeField()
    right = models.BooleanField(default=False)
    forgiven = models.BooleanField(default=False)  # the lead unlocked

    class Meta:
        indexes = [models.Index(fields=["person", "at"]), models.Index(fields=["device", "at"])]

    def __str__(self) -> str:
        return f"{self.person} on {self.device}"


class Arrival(models.Model):
    """What became of one entry that a device sent: stored, or refused with its reason. One line an id, for ever."""

    class Outcome(models.TextChoices):
        STORED = "stored", "stored"
        REFUSED = "refused", "refused"

    id = models.UUIDField(primary_key=True)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="arrivals")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="arrivals")
    sequence = models.PositiveBigIntegerField()
    actor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=20)
    body: Any = DocumentField(holds=dict[str, Any])
    fingerprint = models.CharField(max_length=32)
    at = models.DateTimeField()  # when it happened, by the server's clock
    made_at = models.DateTimeField()  # when it happened, by the device's clock
    arrived_at = models.DateTimeField()
    outcome = models.CharField(max_length=8, choices=Outcome.choices)
    reason = models.CharField(max_length=400, blank=True)

    class Meta:
        indexes = [models.Index(fields=["device", "sequence"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.outcome}"
