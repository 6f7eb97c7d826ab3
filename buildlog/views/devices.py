"""Devices for the lead: how each stands, letting one in, its name, shutting it out, unlocking it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import BuildRequest, device_at, lead_only
from buildlog.actions import devices, sign_in
from buildlog.core.errors import Refused
from buildlog.drawings.qr import qr
from buildlog.models import Device
from buildlog.queries.devices import devices_of
from buildlog.views.answers import show, way_on
from buildlog.views.reach import reachable
from buildlog.words import say


@lead_only
@require_safe
def page(request: BuildRequest) -> HttpResponse:
    rows, gone = devices_of(request.build, timezone.now())
    here = device_at(request, request.build)
    return show(request, "devices/page.html", rows=rows, gone=gone, here=here, active="crew")


@lead_only
@require_POST
def invite(request: BuildRequest) -> HttpResponse:
    """A fresh code, shown this once for one device."""
    now = timezone.now()
    code = devices.invite(build=request.build, by=request.person, now=now)
    path = f"{reverse('join', args=[request.build.code])}?{urlencode({'c': code})}"
    address = reachable(request, path)
    drawn = qr(address, "QR code that lets one device join") if address else ""
    context = {"code": code, "address": address, "until": now + devices.CODE_LIVES, "drawn": drawn}
    return show(request, "devices/invite.html", **context, active="crew")


@lead_only
@require_POST
def rename(request: BuildRequest, device: UUID) -> HttpResponse:
    try:
        name = request.POST.get("name", "")
        devices.rename(device=_find(request, device), name=name, by=request.person, now=timezone.now())
    except Refused as refused:
        messages.error(request, say(refused.problems[0].sentence))
    return redirect("devices", request.build.code)


@lead_only
@require_POST
def revoke(request: BuildRequest, device: UUID) -> HttpResponse:
    gone = devices.revoke(device=_find(request, device), by=request.person, now=timezone.now())
    messages.success(request, f"{gone} is shut out. To use it again let it join again.")
    return redirect("devices", request.build.code)


@lead_only
@require_POST
def unlock(request: BuildRequest, device: UUID) -> HttpResponse:
    device_row = _find(request, device)
    sign_in.unlock(build=request.build, whom=[device_row], by=request.person, now=timezone.now())
    messages.success(request, f"PINs can be tried on {device_row} again.")
    return redirect(way_on(request, reverse("devices", args=[request.build.code])))


def _find(request: BuildRequest, device: UUID) -> Device:
    return get_object_or_404(request.build.devices.select_related("build"), pk=device)
