"""Tries at the password of an account: of this installation, whatever the build."""

from __future__ import annotations

from django.db import models


class PasswordTry(models.Model):
    """A wrong password, or one that is being looked at. By the name that was typed, whether such an account exists or
    not, so that a lock gives none away; never by address. Gone as soon as the right one comes, or after a day.
    """

    name = models.CharField(max_length=150)  # in small letters
    browser = models.CharField(max_length=32, default="")  # one that signed in with this name before; "" = any other
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["name", "at"]), models.Index(fields=["browser", "at"])]

    def __str__(self) -> str:
        return f"{self.name} {self.at:%Y-%m-%d %H:%M}"


class HashSlot(models.Model):
    """Room for one slow hash on all servers together; whoever takes it says until when at most."""

    number = models.PositiveSmallIntegerField(primary_key=True)
    taken_until = models.DateTimeField()

    def __str__(self) -> str:
        return f"slot {self.number}"
