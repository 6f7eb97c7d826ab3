"""How the backups do, for those who can do something about it."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils import timezone

from buildlog.backups.folder import state

register = template.Library()


@register.inclusion_tag("_backup.html")
def backups(only_when_bad: bool = False) -> dict[str, Any]:
    """When the last good one was made; with ``only_when_bad`` nothing as long as that is not long ago."""
    now, backups = timezone.now(), state()
    return {"backups": backups, "now": now, "old": backups.old(now), "short": only_when_bad}
