"""What a page gives the outbox script: where to send, for which device, and the signed word of who makes entries."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from buildlog.access import CREW, SIGN_IN_KEY, device_at
from buildlog.actions.actors import actor_token


def outbox_of(request: HttpRequest) -> dict[str, Any] | None:
    """For somebody of the crew on a device that joined; None for everybody else, whose forms go to the server."""
    build, person = getattr(request, "build", None), getattr(request, "person", None)
    if getattr(request, "htmx", None) or build is None or person is None or person.role not in CREW:
        return None  # a part of a page goes into one that has all this
    device = device_at(request, build)
    if device is None:
        return None
    return {
        "address": reverse("entries", args=[build.code]),
        "device": str(device.pk),
        "actor": actor_token(
            person=person, device=device, now=timezone.now(), sign_in=request.session.get(SIGN_IN_KEY)
        ),
        "who": person.name,
        "sequence": device.last_sequence,
    }
