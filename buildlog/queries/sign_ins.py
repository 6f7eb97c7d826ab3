"""Where somebody is signed in at the moment."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User

from buildlog.models import Person, SignIn


def sign_ins_of(owner: User | Person, now: datetime) -> list[SignIn]:
    """Those that run, the one seen last first; a browser forgets its own after some days (one query)."""
    since = now - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    return list(owner.sign_ins.filter(ended_at=None, began_at__gt=since))
