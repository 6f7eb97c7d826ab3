"""Sign-ins: begun, seen, ended one by one or all of a person's together."""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.db import DatabaseError, transaction
from django.db.models import QuerySet

from buildlog.models import Device, Person, SignIn

KEPT = timedelta(days=60)  # well beyond the days for which a word is good: an older one has nothing to end any more
SEEN_EVERY_S = 300


@transaction.atomic
def begin(*, owner: User | Person, name: str, session_key: str, now: datetime, device: Device | None = None) -> SignIn:
    """Somebody is signed in on one more browser, in the session with that key."""
    SignIn.objects.filter(last_seen_at__lt=now - KEPT).delete()
    whose = {"account": owner} if isinstance(owner, User) else {"person": owner}
    sign_in = SignIn.objects.create(
        **whose, device=device, name=name, session_key=session_key, began_at=now, last_seen_at=now
    )
    cache.set(_seen(sign_in.pk), True, SEEN_EVERY_S)
    return sign_in


def note_seen(*, sign_in: UUID | str, now: datetime) -> None:
    """The browser was there. Written down every few minutes; a database that is busy or full does without."""
    if not cache.add(_seen(sign_in), True, SEEN_EVERY_S):
        return
    try:
        with transaction.atomic():
            SignIn.objects.filter(pk=sign_in).update(last_seen_at=now)
    except DatabaseError:
        pass  # a page that only shows something is shown all the same


@transaction.atomic
def end(*, which: QuerySet[SignIn], now: datetime) -> int:
    """End these sign-ins: their sessions are gone, and what is made with them from now on is refused."""
    running = list(which.filter(ended_at=None))
    SignIn.objects.filter(pk__in=[each.pk for each in running]).update(ended_at=now)
    Session.objects.filter(session_key__in=[each.session_key for each in running]).delete()
    return len(running)


def _seen(sign_in: UUID | str) -> str:
    return f"seen-{sign_in}"
