"""Who is signed in on which browser: shown to that person, ended by them, and named in the word of every entry."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models

from buildlog.models.devices import Device
from buildlog.models.people import Person


class SignIn(models.Model):
    """One browser on which a lead (``account``) or somebody with a PIN (``person``) signed in, from then until
    ``ended_at``. What was made with it until that moment stays good.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    account = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True, related_name="sign_ins"
    )
    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, blank=True, related_name="sign_ins")
    device = models.ForeignKey(Device, on_delete=models.CASCADE, null=True, blank=True, related_name="sign_ins")
    name = models.CharField(max_length=60)  # what that person knows the browser by
    session_key = models.CharField(max_length=40)
    began_at = models.DateTimeField()
    last_seen_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-last_seen_at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(account__isnull=False, person__isnull=True)
                | models.Q(account__isnull=True, person__isnull=False),
                name="sign_in_of_one",
            )
        ]

    def __str__(self) -> str:
        return f"{self.account or self.person} on {self.name}"
