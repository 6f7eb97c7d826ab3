"""What keeps the site going, for those who can do something about it."""

from __future__ import annotations

from typing import Any

from django import template
from django.conf import settings
from django.utils import timezone

from buildlog.backups.folder import state
from buildlog.certificates import SAY_BEFORE, Files, runs_out

register = template.Library()


@register.inclusion_tag("_backup.html")
def backups(only_when_bad: bool = False) -> dict[str, Any]:
    """When the last good one was made; with ``only_when_bad`` nothing as long as that is not long ago."""
    now = timezone.now()
    backups = state(now)
    return {"backups": backups, "now": now, "old": backups.old(now), "short": only_when_bad}


@register.inclusion_tag("_certificate.html")
def certificate() -> dict[str, Any]:
    """Until when tablets trust the site's own authority, once that is near."""
    files = Files.within(settings.DATA_DIR / "tls")
    if not settings.HTTPS or not files.authority.exists():
        return {"until": None}
    until = runs_out(files.authority)
    return {"until": until if until < timezone.now() + SAY_BEFORE else None}
