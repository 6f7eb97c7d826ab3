"""Entries from the outbox of a device. The device proves itself with its cookie, each entry with the word it carries;
nobody has to be signed in when they arrive.

No form token is asked for: a sign-in that ended would take it along. A page from elsewhere cannot post here, because
the cookie does not travel with it, the body must be JSON, and it has no signed word of anybody's.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from django.http import HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from buildlog.access import DeviceRequest, device_only
from buildlog.actions import arrivals
from buildlog.core import sizes
from buildlog.core.errors import Refused
from buildlog.core.work.envelope import Batch, read_body
from buildlog.views.pace import RequestPace
from buildlog.words import say

PACE = RequestPace(most=240, seconds=60)  # requests of one device; a tablet that ticks as fast as a hand can needs 60


@csrf_exempt
@require_POST
@device_only
def entries(request: DeviceRequest) -> HttpResponse:
    """A batch in, an answer for each entry out."""
    now = timezone.now()
    if problem := _unfit(request):
        return _say(*problem)
    if not PACE.allows(request.device.pk, now):
        return _say(429, "Too many requests from this device: the rest is sent a little later.")
    try:
        batch = Batch.read(read_body(request.body))
    except Refused as refused:
        return _say(400, say(refused))
    if batch.device != request.device.pk:
        return _say(409, "These entries belong to another device: send them from there.")
    answers = arrivals.receive(device=request.device, batch=batch, now=now)
    return JsonResponse({"server_at": _milliseconds(now), "results": [asdict(answer) for answer in answers]})


def _unfit(request: DeviceRequest) -> tuple[int, str] | None:
    """Why the request is not even read, with its status."""
    if request.content_type != "application/json":
        return 415, "Send the entries as application/json."
    if request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        return 403, "Entries come from the pages of this site only."
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not (length.isascii() and length.isdigit()):
        return 400, "The length of the body is not a number."
    if int(length) > sizes.BATCH:
        return 413, f"The body is larger than {sizes.BATCH // 1024} kB: send fewer entries at once."
    return None


def _say(status: int, problem: str) -> HttpResponse:
    return JsonResponse({"problem": problem}, status=status)


def _milliseconds(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)
