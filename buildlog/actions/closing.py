"""Closing the way in: the lead's word, an override with its reason, and taking either back."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import Sentences, _
from buildlog.models import Build, CloseIn, Person


@transaction.atomic
def confirm(
    *, build: Build, by: Person, now: datetime, nobody_inside: bool, tools_out: bool, power_isolated: bool
) -> CloseIn:
    """The lead says that all three hold. Refused unless everything inside is wired and tested."""
    state = CloseIn.objects.state_of(build)
    if state.unwired or state.untested or state.faults:
        raise Refused(
            Problem(_("The way in stays open. Still missing: {missing}."), missing=Sentences(state.missing[:-1]))
        )
    if not (nobody_inside and tools_out and power_isolated):
        raise Refused(Problem(_("All three have to hold: nobody inside, tools out, power isolated.")))
    record(build=build, by=by, at=now, verb="close-in", says=f"{by}: nobody inside, tools out, power isolated.")
    return CloseIn.objects.create(build=build, by=by, at=now, nobody_inside=True, tools_out=True, power_isolated=True)


@transaction.atomic
def override(*, build: Build, by: Person, now: datetime, reason: str) -> CloseIn:
    """Let closing segments be mounted although something is missing. The reason stays on record."""
    if len(reason.split()) < 2:
        raise Refused(Problem(_("Say why, in a few words: it stays on record and in the as-built print."), "reason"))
    record(build=build, by=by, at=now, verb="close-in override", says=f"{by} overrode the close-in: {reason}")
    return CloseIn.objects.create(build=build, by=by, at=now, override_reason=reason[:400])


@transaction.atomic
def withdraw(*, build: Build, by: Person, now: datetime) -> int:
    """Take back every standing word: the way in is open, or has to be opened, again."""
    number = CloseIn.objects.standing().filter(build=build).update(withdrawn_at=now)
    if number:
        record(
            build=build,
            by=by,
            at=now,
            verb="close-in withdrawn",
            says=f"{by} took back the word to close in.",
        )
    return number
