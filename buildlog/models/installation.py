"""What tells one database from another, and whose secrets belong to it."""

from __future__ import annotations

import hashlib
import uuid

from django.conf import settings
from django.db import models


def digest_of_secrets() -> str:
    """Of the secrets that this process runs with; nobody gets from it to them."""
    return hashlib.sha256(f"{settings.SECRET_KEY} {settings.PIN_PEPPER}".encode()).hexdigest()


class Installation(models.Model):
    """One row: made at the first start, in every copy of the database the same."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    secrets_digest = models.CharField(max_length=64, default=digest_of_secrets)

    def __str__(self) -> str:
        return str(self.id)
