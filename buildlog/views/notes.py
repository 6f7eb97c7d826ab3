"""Notes of the crew, dealt with by the lead."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from buildlog.access import BuildRequest, lead_only
from buildlog.actions import notes
from buildlog.views.answers import way_on


@lead_only
@require_POST
def settle(request: BuildRequest, note: UUID) -> HttpResponse:
    """The lead has dealt with it; pressing again changes nothing."""
    row = get_object_or_404(request.build.notes, pk=note)
    notes.settle(note=row, by=request.person, now=timezone.now())
    messages.success(request, f"Dealt with: {row.says}")
    return redirect(way_on(request, reverse("today", args=[request.build.code])))
