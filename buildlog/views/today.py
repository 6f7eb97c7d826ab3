"""Today: what a person does now, and how it is said that it is done. Also where a scanned label leads."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import SESSION_KEY, BuildRequest, anybody, crew_only, device_at, person_at
from buildlog.actions import stints
from buildlog.actions.deeds import Maker, perform
from buildlog.actions.ticks import Moment
from buildlog.core.errors import Refused
from buildlog.core.work.deeds import DeviceEntryKind
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.stages import Stage
from buildlog.drawings.side import Belt, locator
from buildlog.forms.refusals import show_refusal
from buildlog.forms.today import ENTRY_FORMS, EntryForm
from buildlog.models import Person, Segment
from buildlog.queries.today import Today, today_of
from buildlog.views.answers import show


@crew_only
@require_safe
def today(request: BuildRequest) -> HttpResponse:
    code, until = request.GET.get("piece", ""), request.GET.get("until", "")
    return _show(request, "" if _passed(request, code, until) else code)


@crew_only
@require_POST
def entry(request: BuildRequest, kind: str) -> HttpResponse:
    """One entry said with a plain form: done by the same act as those that come from an outbox."""
    if kind not in ENTRY_FORMS:
        raise Http404(f"There is no entry of the kind {kind}.")
    form, now = ENTRY_FORMS[kind](request.POST), timezone.now()
    if form.is_valid():
        try:
            device = device_at(request, request.build)
            entry_id = form.cleaned_data["id"]
            perform(
                form.deed(),
                Maker(request.build, request.person, device, entry_id, DeviceEntryKind(kind), Moment.now(now)),
            )
            stints.close_forgotten(build=request.build, now=now)  # after it: this may be the sign of life
            return _done(request, kind)
        except Refused as refused:
            show_refusal(form, refused)
    return _show(request, request.POST.get("piece", ""), form)


def _done(request: BuildRequest, kind: str) -> HttpResponse:
    """Back to Today, to the piece that was chosen as long as something is left to do at it."""
    if kind == DeviceEntryKind.NOTE:
        messages.success(request, "The lead will see your note.")
    code, address = request.POST.get("piece", ""), reverse("today", args=[request.build.code])
    if not code or (kind == DeviceEntryKind.TICK and _passed(request, code, request.POST.get("stage", ""))):
        return redirect(address)
    return redirect(f"{address}?{urlencode({'piece': code})}")


def _passed(request: BuildRequest, code: str, stage: str) -> bool:
    """Was the piece chosen for a stage that all of it has passed by now?"""
    if not code or stage not in set(Stage):
        return False
    segment = request.build.segments.current().filter(code=code).first()
    return segment is None or segment.standing.passed(Stage(stage))


def _show(request: BuildRequest, wanted: str, form: EntryForm | None = None) -> HttpResponse:
    seen = today_of(request.build, request.person, timezone.now(), wanted)
    template = "today/_today.html" if request.htmx else "today/page.html"
    chosen = seen.piece.cell.code if seen.piece and wanted else ""
    drawn = _where(seen, seen.piece.cell) if seen.piece else ""
    return show(request, template, today=seen, day=seen.day, chosen=chosen, drawn=drawn, form=form, active="today")


def _where(seen: Today, cell: MapCell) -> str:
    """The ball turned so that the piece at hand faces the viewer."""
    belts = [Belt(ring.number, ring.polar_deg, ring.closing) for ring in seen.rings]
    return locator(belts, cell)


@anybody
@require_safe
def label(request: BuildRequest, label: str) -> HttpResponse:
    """A scanned label: to the piece, on Today for those who work on it. It identifies, it does not authorise: a
    stranger gets the same answer whether there is such a label or not.
    """
    segment = Segment.objects.current().select_related("build").filter(label=label.upper()).first()
    person = person_at(request, segment.build) if segment else None
    if segment is None or (person is None and device_at(request, segment.build) is None):
        return _strange_label(request)
    if person is not None and person.role == Person.Role.VIEWER:
        return redirect("segment", segment.build.code, segment.code)
    address = reverse("today", args=[segment.build.code])
    return redirect(f"{address}?{urlencode({'piece': segment.code})}")


def _strange_label(request: BuildRequest) -> HttpResponse:
    if request.user.is_authenticated or SESSION_KEY in request.session:
        raise Http404("No label of a build that you are on.")
    return redirect(f"{reverse('home')}?{urlencode({'next': request.path})}")
