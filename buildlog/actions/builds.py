"""Builds: begun, described, given a target."""

from __future__ import annotations

import re
import zoneinfo
from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import transaction

from buildlog.actions.crew import make_lead
from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.models import Build, Person

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,15}")


@transaction.atomic
def begin(
    *, code: str, name: str, time_zone: str, now: datetime, lead: User | None = None, place: str = "",
    people_limits: dict[str, int] | None = None, units: str = Build.Units.METRIC,
) -> Build:  # fmt: skip
    """Make a build. The one who makes it leads it; one made by command is led by every owner of this installation."""
    refuse_bad_code(code)
    refuse_bad_zone(time_zone)
    build = Build(code=code, name=name.strip() or code, place=place, time_zone=time_zone, units=units, created_at=now)
    if people_limits is not None:
        build.people_limits = people_limits
    build.save()
    for user in [lead] if lead else owners_here():
        make_lead(build=build, user=user)
    record(build=build, by=None, at=now, verb="begin build", says=f"Build {build} begun.")
    return build


def owners_here() -> list[User]:
    """The accounts that own this installation."""
    return list(get_user_model().objects.filter(is_superuser=True, is_active=True))


@transaction.atomic
def describe(*, build: Build, by: Person, now: datetime, **changes: object) -> Build:
    """Change name, place, time zone, target, units, limits or standard rates; the old values stay on record."""
    refuse_bad_zone(str(changes.get("time_zone", build.time_zone)))
    old = {key: getattr(build, key) for key in changes}
    for key, value in changes.items():
        setattr(build, key, value)
    build.save(update_fields=list(changes))
    changed = {key: [str(old[key]), str(value)] for key, value in changes.items() if old[key] != value}
    if changed:
        record(
            build=build,
            by=by,
            at=now,
            verb="describe build",
            says=f"{by} changed {', '.join(changed)}.",
            **changed,
        )
    return build


def keep_label_layout(*, build: Build, layout: dict[str, Any]) -> None:
    """How labels are printed here, for the next time."""
    build.label_layout = layout
    build.save(update_fields=["label_layout"])


def refuse_bad_code(code: str) -> None:
    if not CODE.fullmatch(code):
        raise Refused(
            Problem(
                _("The code {code!r} is not usable: 1 to 16 letters, digits or hyphens, like NY or barn-2."),
                "code",
                code=code,
            )
        )
    if Build.objects.filter(code__iexact=code).exists():
        raise Refused(Problem(_("There is a build {code!r} already: choose another code."), "code", code=code))


def refuse_bad_zone(time_zone: str) -> None:
    if time_zone not in zoneinfo.available_timezones():
        raise Refused(
            Problem(
                _("There is no time zone {time_zone!r}: give an IANA name such as Europe/Lisbon."),
                "time_zone",
                time_zone=time_zone,
            )
        )
