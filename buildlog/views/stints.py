"""A stint's times put right, or confirmed as they stand. Helpers their own, the lead everybody's."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, crew_only, device_at
from buildlog.actions import stints
from buildlog.actions.deeds import Maker, perform, refuse_correction
from buildlog.actions.ticks import Moment
from buildlog.core.errors import Refused
from buildlog.core.work.deeds import DeviceEntryKind
from buildlog.forms.refusals import show_refusal
from buildlog.forms.stints import CorrectForm
from buildlog.queries.stints import StintPage, stint_page
from buildlog.views.answers import posted, show, way_on
from buildlog.words import say


@crew_only
def correct(request: BuildRequest, stint: UUID) -> HttpResponse:
    seen = _find(request, stint)
    form = CorrectForm(seen.stint, seen.likely_end, posted(request))
    if request.method == "POST" and _put_right(request, form):
        return _back(request, "The stint is put right. Its old times stay on record.")
    return show(request, "stints/page.html", seen=seen, form=form, next=way_on(request, ""), active="hours")


def _put_right(request: BuildRequest, form: CorrectForm) -> bool:
    """Was it put right? If not, all that fields and rules refuse is shown at once."""
    good, moment, device = form.is_valid(), Moment.now(timezone.now()), device_at(request, request.build)
    try:
        if good:
            perform(
                form.deed(),
                Maker(request.build, request.person, device, uuid4(), DeviceEntryKind.STINT_CORRECT, moment),
            )
        elif form.told:
            refuse_correction(form.deed(), form.stint, moment.at)
    except Refused as refused:
        show_refusal(form, refused)
        return False
    return good


@crew_only
@require_POST
def confirm(request: BuildRequest, stint: UUID) -> HttpResponse:
    """It was right as it stands."""
    seen = _find(request, stint)
    try:
        stints.confirm(stint=seen.stint, by=request.person, at=timezone.now())
        return _back(request, "The stint counts as it stands.")
    except Refused as refused:
        messages.error(request, say(refused))
        return redirect("stint_correct", request.build.code, stint)


def _find(request: BuildRequest, stint: UUID) -> StintPage:
    seen = stint_page(request.build, request.person, stint)
    if seen is None:
        raise Http404("This stint is not there, or it is not yours.")
    return seen


def _back(request: BuildRequest, says: str) -> HttpResponse:
    messages.success(request, says)
    return redirect(way_on(request, reverse("today", args=[request.build.code])))
